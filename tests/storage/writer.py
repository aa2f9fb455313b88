"""A process that counts up a number in the store, many times: read, then write.

Usage: python -m tests.storage.writer URL TIMES
"""

import sys

from holdwatch.storage.engine import open_store
from holdwatch.storage.states import set_watch_state, watch_state


def main() -> None:
    """Count up, each time in a transaction of its own."""
    url, times = sys.argv[1:]
    store = open_store(url)
    for _ in range(int(times)):
        with store.write() as session:
            row = watch_state(session, "counter")
            before = 0 if row is None else row.facts["count"]
            set_watch_state(session, "counter", next_ms=None, facts={"count": before + 1})
    store.close()


if __name__ == "__main__":
    main()
