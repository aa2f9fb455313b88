"""One listener a data directory: two of them would give one message two instants."""

from collections.abc import Iterator
from contextlib import contextmanager

from holdwatch.storage.engine import Store
from holdwatch.storage.locks import exclusive

__all__ = ["listener_lock"]


@contextmanager
def listener_lock(store: Store) -> Iterator[None]:
    """Hold the place of the one listener of a store.

    Raises
    ------
    StorageError
        If another listener holds it.
    """
    taken = f"another listener ({{holder}}) already writes to {store.place}: stop it, or use another data directory"
    with exclusive(store, "listener", taken):
        yield
