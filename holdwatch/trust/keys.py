"""The key that signs seals: Ed25519, made when it is first needed, in a file of the data directory.

What the signature shows: the seal was made by whoever had this key. The key lies on the owner's own machine, so it does
not show that the owner changed nothing before the seal; a digest that has left the machine does.

References
----------
.. [1] RFC 8032, Edwards-Curve Digital Signature Algorithm: Ed25519.
"""

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from holdwatch.errors import ConfigError
from holdwatch.language import _

if TYPE_CHECKING:  # whoever signs nothing is spared of the library
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

__all__ = ["KEY_FILE", "is_signed", "key_in", "public_hex"]

KEY_FILE = "seal-key.pem"


def key_in(directory: Path) -> "Ed25519PrivateKey":
    """Return the key of a data directory, made now if there is none.

    Raises
    ------
    ConfigError
        If its file cannot be read or written, or holds no such key.
    """
    path = directory / KEY_FILE
    try:
        return _read(path) if path.exists() else _make(path)
    except FileExistsError:  # another process made it in this moment
        return _read(path)
    except OSError as exc:
        raise ConfigError(
            _("the key of the seals, {path}, cannot be used ({strerror}): let this user read it").format(
                path=path, strerror=exc.strerror
            )
        ) from exc


def public_hex(key: "Ed25519PrivateKey") -> str:
    """Return the public half of a key, in hex."""
    return key.public_key().public_bytes_raw().hex()


def is_signed(public: str, signature: str, text: str) -> bool:
    """Return whether a signature over a text was made with the key whose public half is given; all in hex."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)).verify(bytes.fromhex(signature), text.encode())
    except (InvalidSignature, ValueError):
        return False
    return True


def _read(path: Path) -> "Ed25519PrivateKey":
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        key = load_pem_private_key(path.read_bytes(), password=None)
    except (ValueError, TypeError) as exc:
        raise ConfigError(
            _("{path} holds no key: put the one of a backup in its place, or move it away").format(path=path)
        ) from exc
    if not isinstance(key, Ed25519PrivateKey):
        raise ConfigError(
            _("{path} holds another kind of key than Ed25519: put the one of a backup in its place").format(path=path)
        )
    return key


def _make(path: Path) -> "Ed25519PrivateKey":
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    key = Ed25519PrivateKey.generate()
    written = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    descriptor, half = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")  # for its owner only
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(written)
            file.flush()
            os.fsync(file.fileno())
        path.hardlink_to(half)  # whole, and never in the place of another
    finally:
        Path(half).unlink()
    return key
