"""The tables of who works here, who is on shift where, and what they have signed; conventions as in `tables`."""

from enum import StrEnum

from sqlalchemy import BigInteger, Column, ForeignKey, Integer, text
from sqlmodel import Field, SQLModel

from holdwatch.storage import tables

__all__ = ["Person", "PinTry", "Refusal", "Screen", "Secret", "Shift", "Signature", "TryOutcome"]


class TryOutcome(StrEnum):
    """What became of a try with a PIN."""

    BEGUN = "begun"  # not looked at to the end: it counts as wrong, or many at once would be free
    RIGHT = "right"
    WRONG = "wrong"
    TOO_SOON = "too-soon"  # after too many wrong ones: not looked at
    NO_PIN = "no-pin"  # none has been set
    NOT_ALLOWED = "not-allowed"  # not with this role
    NEW_PIN = "new-pin"  # no try: a PIN was set, and what was wrong before counts no more


class Person(SQLModel, table=True):
    """Somebody who records, verifies or looks; never deleted, for the record names them."""

    __tablename__ = "person"
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    name: str = Field(unique=True)
    initials: str
    role: str  # a people.roles.PersonRole
    pin_hash: str = ""  # Argon2id; empty where none has been set
    pin_set_ms: int | None = Field(default=None, sa_column=Column(BigInteger))
    added_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
    ended_ms: int | None = Field(default=None, sa_column=Column(BigInteger, index=True))
    sso: str = Field(
        default="", sa_column_kwargs={"server_default": text("''")}
    )  # e-mail, or subject, of single sign-on
    language: str = Field(
        default="", sa_column_kwargs={"server_default": text("''")}
    )  # of their screens; empty: the site's
    scale: str = Field(default="", sa_column_kwargs={"server_default": text("''")})  # F or C on them; empty: the site's


class PinTry(SQLModel, table=True):
    """One try to do something with a PIN; its outcome is written when it is known."""

    __tablename__ = "pin_try"
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    person_id: int = Field(sa_column=Column(Integer, ForeignKey("person.id"), nullable=False, index=True))
    at_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
    act: str  # a people.roles.Right: what was to be done
    place: str  # where: screen, phone
    outcome: str = TryOutcome.BEGUN.value
    times: int = 1  # how often in a row it was refused without being looked at


class Refusal(SQLModel, table=True):
    """A try that was refused for another reason than its PIN; the same one over and over is one row that counts."""

    __tablename__ = "refusal"
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    at_ms: int = Field(sa_column=Column(BigInteger, nullable=False, index=True))
    who: str  # as it was said; empty where nobody said
    what: str
    place: str  # where: screen, phone, console
    why: str
    times: int = 1


class Screen(SQLModel, table=True):
    """A browser that somebody signed in: the kitchen's own, or a person's; it ends by signing out, or left idle."""

    __tablename__ = "screen"
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    kitchen: bool
    person_id: int = Field(sa_column=Column(Integer, ForeignKey("person.id"), nullable=False, index=True))
    opened_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
    seen_ms: int = Field(sa_column=Column(BigInteger, nullable=False))  # when somebody last touched it
    ended_ms: int | None = Field(default=None, sa_column=Column(BigInteger, index=True))


class Shift(SQLModel, table=True):
    """Somebody who is signed in at a screen, from their PIN until they leave."""

    __tablename__ = "shift"
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    screen_id: int = Field(sa_column=Column(Integer, ForeignKey("screen.id"), nullable=False, index=True))
    person_id: int = Field(sa_column=Column(Integer, ForeignKey("person.id"), nullable=False, index=True))
    from_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
    until_ms: int = Field(sa_column=Column(BigInteger, nullable=False))  # when it ends by itself
    ended_ms: int | None = Field(default=None, sa_column=Column(BigInteger, index=True))


class Signature(SQLModel, table=True):
    """Who signed an entry, as they were called then; only ever appended."""

    __tablename__ = "signature"
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    event_id: int = Field(
        sa_column=Column(Integer, ForeignKey(f"{tables.Event.__tablename__}.id"), nullable=False, index=True)
    )
    person_id: int = Field(sa_column=Column(Integer, ForeignKey("person.id"), nullable=False, index=True))
    name: str
    initials: str
    at_ms: int = Field(sa_column=Column(BigInteger, nullable=False))


class Secret(SQLModel, table=True):
    """A key of this store's own, for what it signs: the links in alerts, and who has signed in."""

    __tablename__ = "secret"
    name: str = Field(primary_key=True)
    value: str
    made_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
