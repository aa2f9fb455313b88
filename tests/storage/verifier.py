"""A process that verifies a finding at the same instant as others.

Usage: python -m tests.storage.verifier URL KEY WHO; it says ``ready``, waits for a line, and says what became of it.
"""

import sys

from holdwatch.errors import ConfigError
from holdwatch.people.handling import Act
from holdwatch.storage.engine import open_store
from holdwatch.storage.findings import finding_by_key
from holdwatch.storage.handling import Signer, record_act
from holdwatch.storage.people import person_named
from tests.storage.kitchen import NOW


def main() -> None:
    """Verify once."""
    url, key, who = sys.argv[1:]
    store = open_store(url)
    print("ready", flush=True)  # noqa: T201
    sys.stdin.readline()
    try:
        with store.write() as session:
            finding, person = finding_by_key(session, key), person_named(session, who)
            assert finding is not None
            at_ms = NOW + 3_600_000
            record_act(
                session, finding, Act.VERIFIED, Signer(person.name, person, signed=True), at_ms=at_ms, now_ms=at_ms
            )
        print("recorded", flush=True)  # noqa: T201
    except ConfigError as exc:
        print(exc, flush=True)  # noqa: T201
    store.close()


if __name__ == "__main__":
    main()
