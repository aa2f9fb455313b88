"""The tables of who works here and what they have signed; the conventions are those of `tables`."""

from enum import StrEnum

from sqlalchemy import BigInteger, Column, ForeignKey, Integer
from sqlmodel import Field, SQLModel

from holdwatch.storage import tables

__all__ = ["Person", "PinTry", "Secret", "Signature", "TryOutcome"]


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
