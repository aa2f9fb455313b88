"""The key of the seals."""

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from holdwatch.errors import ConfigError
from holdwatch.trust.keys import KEY_FILE, is_signed, key_in, public_hex


def test_signatures_are_those_of_the_standard() -> None:
    """RFC 8032, section 7.1, TEST 1: the empty message."""
    key = Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
    )
    assert public_hex(key) == "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
    signature = "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
    assert is_signed(public_hex(key), signature, "")
    assert not is_signed(public_hex(key), signature, "x")
    assert not is_signed(public_hex(key), "not hex", "")


def test_a_key_is_made_once_and_for_its_owner_only(tmp_path: Path) -> None:
    """The second call reads what the first one made; nobody else may read it; no half file stays."""
    first = key_in(tmp_path)
    assert public_hex(key_in(tmp_path)) == public_hex(first)
    assert stat.S_IMODE((tmp_path / KEY_FILE).stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir()] == [KEY_FILE]


def test_two_that_make_it_at_once_agree(tmp_path: Path) -> None:
    """Whoever comes second takes the first one's."""
    with ThreadPoolExecutor(8) as pool:
        found = {public_hex(key) for key in pool.map(key_in, [tmp_path] * 8)}
    assert len(found) == 1


def test_a_file_that_holds_no_key_is_refused(tmp_path: Path) -> None:
    """And is not overwritten: it may be the only copy of something."""
    (tmp_path / KEY_FILE).write_text("nothing")
    with pytest.raises(ConfigError, match="holds no key"):
        key_in(tmp_path)
    assert (tmp_path / KEY_FILE).read_text() == "nothing"
