"""One listener and one watch a store: two would give one message two instants, or one finding two alerts."""

from collections.abc import Iterator
from contextlib import contextmanager

from holdwatch.storage.engine import Store
from holdwatch.storage.locks import exclusive

__all__ = ["listener_lock", "watch_lock"]


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


@contextmanager
def watch_lock(store: Store) -> Iterator[None]:
    """Hold the place of the one watch of a store.

    Raises
    ------
    StorageError
        If another watch holds it.
    """
    taken = f"another watch ({{holder}}) already judges {store.place}: stop it, or leave this one out"
    with exclusive(store, "watch", taken):
        yield
