"""Keys of this store's own, and what is signed with them: links in alerts, and who has signed in.

A key is made when it is first needed and lies in the store, so that the watch that writes a link and the server that
reads it agree wherever they run. Making it anew signs everybody out, and ends every link that was sent.
"""

import secrets

from itsdangerous import BadData, URLSafeTimedSerializer
from sqlmodel import Session

from holdwatch.storage.engine import Store
from holdwatch.storage.people_tables import Secret

__all__ = [
    "LINK",
    "LINK_LASTS_S",
    "REVIEW",
    "SIGN_IN",
    "SINGLE_SIGN_ON",
    "key_of",
    "known_key",
    "link_token",
    "new_key",
    "read_link",
    "serializer",
]

LINK_LASTS_S = 7 * 24 * 3600
"""How long the link of an alert opens its finding. [s]"""

LINK = "finding link"
REVIEW = "review link"
SINGLE_SIGN_ON = "single sign-on"
SIGN_IN = "sign-in"
"""The names of the keys, each also the purpose of what it signs."""


def key_of(session: Session, name: str, *, now_ms: int) -> str:
    """Return a key, made now if there is none; call it in a write transaction, or where it is known to exist."""
    found = session.get(Secret, name)
    if found is None:
        found = Secret(name=name, value=secrets.token_urlsafe(32), made_ms=now_ms)
        session.add(found)
        session.flush()
    return found.value


def known_key(session: Session, name: str) -> str:
    """Return a key if it was made, else nothing; a read makes none."""
    found = session.get(Secret, name)
    return found.value if found is not None else ""


def new_key(store: Store, name: str, *, now_ms: int) -> None:
    """Make a key anew: what was signed with the old one counts no more."""
    with store.write() as session:
        key_of(session, name, now_ms=now_ms)
        found = session.get_one(Secret, name)
        found.value, found.made_ms = secrets.token_urlsafe(32), now_ms
        session.add(found)


def serializer(key: str, purpose: str) -> URLSafeTimedSerializer:
    """Return what signs and reads text for one purpose; another purpose's text is never taken."""
    return URLSafeTimedSerializer(key, salt=f"holdwatch {purpose}")


def link_token(session: Session, number: int, *, now_ms: int, purpose: str = LINK) -> str:
    """Return the token of a link to a finding, or to a review; in a write transaction."""
    return str(serializer(key_of(session, purpose, now_ms=now_ms), purpose).dumps(number))


def read_link(session: Session, token: str, purpose: str = LINK) -> int | None:
    """Return the number that a token opens; ``None`` where it is not ours, of another purpose, or too old."""
    key = known_key(session, purpose)
    if not key:
        return None
    try:
        number = serializer(key, purpose).loads(token, max_age=LINK_LASTS_S)
    except BadData:
        return None
    return number if isinstance(number, int) else None
