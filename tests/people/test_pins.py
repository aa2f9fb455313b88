"""PINs and what may be done with one."""

import pytest
from argon2 import extract_parameters
from argon2.low_level import Type

from holdwatch.errors import ConfigError
from holdwatch.people.pins import check_new_pin, hash_pin, is_pin, outdated


@pytest.fixture(autouse=True)
def _pins_are_hashed_lightly() -> None:
    """As in a kitchen: the cost is what is tested here."""


@pytest.mark.parametrize("pin", ["2739", " 2739 ", "905172", "112233445566"])
def test_digits_make_a_pin(pin: str) -> None:
    """Digits make a pin."""
    assert check_new_pin(pin) == pin.strip()


@pytest.mark.parametrize(
    ("pin", "words"),
    [
        ("", "say the new PIN"),
        ("27x9", "digits alone"),
        ("٢٧٣٩", "digits alone"),  # digits, but not of every keypad
        ("273", "has 3"),
        ("2739273927392", "has 13"),
        ("0000", "tried first"),
        ("1234", "tried first"),
        ("7890", "tried first"),
        ("4321", "tried first"),
    ],
)
def test_what_is_no_pin_is_said(pin: str, words: str) -> None:
    """What is no pin is said."""
    with pytest.raises(ConfigError, match=words):
        check_new_pin(pin)


def test_a_pin_is_kept_as_argon2id_with_a_salt_of_its_own() -> None:
    """A pin is kept as argon2id with a salt of its own."""
    one, other = hash_pin("2739"), hash_pin("2739")
    assert one != other
    assert "2739" not in one.split("$", 4)[-1]
    found = extract_parameters(one)
    # RFC 9106, section 4, second recommended option: Argon2id, 3 passes, 64 MiB, 4 lanes, 16-byte salt, 32-byte tag
    assert (found.type, found.time_cost, found.memory_cost, found.parallelism) == (Type.ID, 3, 65536, 4)
    assert (found.salt_len, found.hash_len) == (16, 32)
    assert not outdated(one)
    assert outdated("$argon2id$v=19$m=8,t=1,p=1$c29tZXNhbHQ$2r9bqeMHfYn2Cw8vQq7WIQ")


def test_only_the_right_pin_is_taken() -> None:
    """Only the right pin is taken."""
    kept = hash_pin("2739")
    assert is_pin(kept, "2739")
    assert is_pin(kept, "2739 ")
    assert not is_pin(kept, "2738")
    assert not is_pin(kept, "")
    assert not is_pin("", "2739")  # nobody has set one: nothing is right
    assert not is_pin("2739", "2739")  # a PIN kept as itself would be a fault, and is not taken
