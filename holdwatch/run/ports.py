"""Whether a port is free, taken, or answers."""

import errno
import socket
from contextlib import closing

from holdwatch.errors import ConfigError

__all__ = ["answers", "require_free"]


def require_free(address: str, port: int, what: str, option: str) -> None:
    """Refuse a port on which another program listens already.

    Raises
    ------
    ConfigError
        If the port is taken, or this machine has no such address.
    """
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    with closing(socket.socket(family, socket.SOCK_STREAM)) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((address, port))
        except OSError as exc:
            if exc.errno == errno.EADDRINUSE:
                raise ConfigError(
                    f"port {port} on {address} is in use, so {what} cannot be served there: "
                    f"end the program that uses it, or give another port with {option}"
                ) from exc
            if exc.errno == errno.EACCES:
                raise ConfigError(
                    f"port {port} is not for this user, so {what} cannot be served there: "
                    f"give one above 1023 with {option}"
                ) from exc
            raise ConfigError(f"{what} cannot be served on {address} port {port} ({exc.strerror})") from exc


def answers(address: str, port: int, timeout_s: float = 0.5) -> bool:
    """Return whether something accepts connections there."""
    try:
        with socket.create_connection((address, port), timeout=timeout_s):
            return True
    except OSError:
        return False
