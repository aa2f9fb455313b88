"""The tables of the store.

Instants are whole milliseconds since 1970-01-01 UTC (``…_ms``). What people did and what the watch found is
appended, never overwritten: a row that changes (a finding, a placement's end) has every version beside it.
"""

from enum import IntFlag, StrEnum
from typing import Any, ClassVar

from sqlalchemy import JSON, BigInteger, Column, Float, ForeignKey, Index, Integer, SmallInteger, UniqueConstraint, text
from sqlmodel import Field, SQLModel

# Constraints need names: a migration on SQLite cannot drop one that has none.
SQLModel.metadata.naming_convention = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

# ---------------------------------------------------------------- choices


class UnitKind(StrEnum):
    """What a unit is; it decides which limit is asked of the food in it."""

    WALK_IN = "walk-in"
    REACH_IN = "reach-in"
    DISPLAY_CASE = "display-case"
    FREEZER = "freezer"
    HOT_CABINET = "hot-cabinet"
    BLAST_CHILLER = "blast-chiller"
    ICE_BATH = "ice-bath"
    ROOM = "room"
    VAN = "van"
    INSULATED_BOX = "insulated-box"


class Payload(StrEnum):
    """How a probe writes its message."""

    SENML = "senml"
    NUMBER = "number"
    JSON = "json"


class ReadingFlag(IntFlag):
    """What is known of a reading beside its value; 0 is a reading with a plausible instant of its own."""

    OWN_INSTANT = 0
    ARRIVAL_INSTANT = 1  # came live without an instant: its arrival stands in
    UNKNOWN_INSTANT = 2  # retained, or queued while the listener was away: kept, never judged
    IMPLAUSIBLE_INSTANT = 4  # the device's own instant cannot be; its arrival is kept: never judged
    NOT_JUDGED = 6  # the mask of the two above
    FROM_FILE = 8  # read from a logger's file, not heard from the probe itself


class Answer(StrEnum):
    """An answer to a question of set-up; none is an empty text."""

    YES = "yes"
    NO = "no"


class FindingKind(StrEnum):
    """What kind of thing was found."""

    SOON = "soon"
    DEVIATION = "deviation"
    NOT_SHOWN = "not-shown"
    SYSTEM = "system"


class EventKind(StrEnum):
    """What a person or the program recorded."""

    SITE_SET = "site-set"
    LIMITS_CONFIRMED = "limits-confirmed"
    UNIT_ADDED = "unit-added"
    UNIT_LAG = "unit-lag"  # how slowly the food in it follows its air
    UNIT_EGGS = "unit-eggs"  # whether shell eggs are kept in it
    PROBE_ADDED = "probe-added"
    CONTACT_ADDED = "contact-added"
    CONTACT_ROUTED = "contact-routed"
    PERSON_ADDED = "person-added"
    PERSON_CHANGED = "person-changed"
    PRODUCT_SET = "product-set"  # of the written plan
    PRODUCT_RETIRED = "product-retired"
    BATCH_STARTED = "batch-started"
    PROBE_PLACED = "probe-placed"
    PROBE_TAKEN_OUT = "probe-taken-out"
    LEFT_HEAT = "left-heat"
    PREPARED = "prepared"
    MOVED = "moved"
    REMOVED = "removed"
    RETURNED = "returned"
    REHEATING = "reheating"  # begun
    FROZEN = "frozen"
    THAWED = "thawed"
    OPENED = "opened"  # a commercial container
    RECEIVED = "received"  # a delivery, measured at the door
    ADDED = "added"  # food of another batch came in
    PARTED = "parted"  # some of it went into another batch
    HANDED_OVER = "handed-over"  # to a driver, or set down on a table
    READ_BACK = "read-back"  # a logger that travelled with it
    ALLERGENS = "allergens"  # what is in it, said of this batch
    IN_USE = "in-use"  # a piping bag, a garnish tub, a tray: from now on its own clock runs
    ENDED = "ended"
    READING = "reading"  # by hand
    STEP = "step"
    PROBE_IN_FOOD = "probe-in-food"  # the answer to "is the probe still in the food?"
    PROBE_OUT_OF_FOOD = "probe-out-of-food"
    NOTE = "note"
    ACTION = "action"
    SEEN = "seen"
    CHECKED = "checked"  # a check that an action promised
    MISTAKEN = "mistaken"  # there was nothing the matter, and why
    VERIFIED = "verified"
    REOPENED = "reopened"
    CORRECTION = "correction"
    CLOSING = "closing"  # gone through before the last person left
    OPENING = "opening"  # gone through when the first one came
    ALONE = "alone"  # somebody works alone from then on
    NOT_ALONE = "not-alone"
    LONE_REVIEWED = "lone-reviewed"  # somebody else looked over what was done alone
    VISITED = "visited"  # an officer was there
    OFFICER_READING = "officer-reading"
    DETAINED = "detained"  # by an officer
    RELEASED = "released"
    DELIVERED = "delivered"  # to the door: taken or refused
    OUT_OF_USE = "out-of-use"  # a unit, or all of them: empty, cleaned, defrosted, closed
    BACK_IN_USE = "back-in-use"
    NOTHING_COOLED = "nothing-cooled"  # a day without cooling, said to be one
    CALIBRATED = "calibrated"  # a probe was held at a known temperature
    DAYS_REVIEWED = "days-reviewed"  # gone over by a manager
    KEEPING_SET = "keeping-set"  # how long something is kept
    THINNED = "thinned"  # readings of sealed days taken away; each day is named in thinned_day


class AlertState(StrEnum):
    """Where an alert is on its way."""

    WAITING = "waiting"
    SENT = "sent"
    UNDELIVERED = "undelivered"  # not taken for long; shown, and tried now and then
    REPLACED = "replaced"  # a newer message about the same finding took its place before it was sent
    NOT_NEEDED = "not-needed"  # somebody saw or handled the finding before the message was due


class Role(StrEnum):
    """The long-running parts."""

    LISTEN = "listen"
    WATCH = "watch"
    NOTIFY = "notify"
    DASHBOARD = "dashboard"
    BROKER = "broker"


def _id() -> Any:
    """Return the primary key of a small table."""
    return Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))


def _ms(*, null: bool = False, index: bool = False) -> Any:
    """Return a column for an instant or a length of time in ms."""
    return Field(default=None if null else ..., sa_column=Column(BigInteger, nullable=null, index=index))


def _ref(target: str, *, null: bool = False, index: bool = True) -> Any:
    """Return a foreign key."""
    return Field(
        default=None if null else ..., sa_column=Column(Integer, ForeignKey(target), nullable=null, index=index)
    )


def _later_text() -> Any:
    """Return a column of text that older rows do not have; it is empty there."""
    return Field(default="", sa_column_kwargs={"server_default": text("''")})


def _later_number() -> Any:
    """Return a column of whole numbers that older rows do not have; it is 0 there."""
    return Field(default=0, sa_column=Column(BigInteger, nullable=False, server_default=text("0")))


def _json() -> Any:
    """Return a column of facts."""
    return Field(default_factory=dict, sa_column=Column(JSON, nullable=False))


# ---------------------------------------------------------------- the site and its things


class SiteVersion(SQLModel, table=True):
    """The site as it was set from an instant on; the latest version at or before an instant is in force then."""

    __tablename__ = "site_version"
    id: int | None = _id()
    from_ms: int = _ms()
    name: str
    timezone: str
    limits: str
    unit: str = "F"  # in which temperatures are shown: F or C
    by: str
    recorded_ms: int = _ms()
    limits_digest: str = _later_text()  # which text of the limits; empty in versions older than the texts
    authority: str = _later_text()  # who inspects; empty where nobody said
    raw_egg: str = _later_text()  # yes or no: is raw or undercooked egg served? empty where nobody answered
    susceptible: str = _later_text()  # yes or no: are highly susceptible people served?
    altitude: str = _later_text()  # of the kitchen as it was written, 5280ft; empty where nobody said
    language: str = _later_text()  # of alerts and papers, and of screens nobody is signed in at; empty is English
    quiet: str = _later_text()  # hours such as 22:00-05:00 in which only that rings which can be helped; empty: none


class Unit(SQLModel, table=True):
    """A walk-in, reach-in, display case, freezer and the like."""

    __tablename__ = "unit"
    id: int | None = _id()
    name: str = Field(unique=True)
    kind: str  # a UnitKind
    added_ms: int = _ms()


class Probe(SQLModel, table=True):
    """A probe and how it speaks."""

    __tablename__ = "probe"
    id: int | None = _id()
    code: str = Field(unique=True)
    medium: str
    payload: str
    topic: str = Field(unique=True)
    pointer: str = ""  # JSON Pointer to the value
    time_pointer: str = ""  # JSON Pointer to the instant, if the payload has one
    unit_pointer: str = ""  # JSON Pointer to the unit, if the payload has one
    senml_name: str = ""  # resolved SenML name to take, where a pack holds several
    unit: str = "C"  # unit of a bare value
    added_ms: int = _ms()


class Correction(SQLModel, table=True):
    """What turns a probe's raw values over a span into what it measured; raw values are never rewritten."""

    __tablename__ = "correction"
    id: int | None = _id()
    probe_id: int = _ref("probe.id")
    from_ms: int = _ms()
    to_ms: int | None = _ms(null=True)
    offset_c: float
    by: str
    why: str
    recorded_ms: int = _ms()
    slope: float = Field(default=1.0, sa_column=Column(Float(53), nullable=False, server_default=text("1")))


class Batch(SQLModel, table=True):
    """A batch (lot) of a product, in one or more vessels."""

    __tablename__ = "batch"
    id: int | None = _id()
    lot: str = Field(unique=True)
    product: str
    vessels: int = 1
    step: str = "cool"  # a rules.verdicts.Step: the step it is in
    holding: str = "cold"  # cold or hot: which limit holding is asked
    started_ms: int = _ms()
    ended_ms: int | None = _ms(null=True, index=True)
    outcome: str = ""  # served, used, discarded …
    by: str = ""


class Placement(SQLModel, table=True):
    """Which probe watched what, from when to when."""

    __tablename__ = "placement"
    id: int | None = _id()
    probe_id: int = _ref("probe.id")
    unit_id: int | None = _ref("unit.id", null=True)
    batch_id: int | None = _ref("batch.id", null=True)
    vessel: int = 1
    slowest: bool = False  # declared the slowest vessel: it then speaks for all
    from_ms: int = _ms()
    to_ms: int | None = _ms(null=True, index=True)
    by: str = ""
    recorded_ms: int = _ms()


class Event(SQLModel, table=True):
    """What was done or declared, by whom, when; only ever appended."""

    __tablename__ = "event"
    id: int | None = _id()
    at_ms: int = _ms(index=True)
    recorded_ms: int = _ms()
    kind: str = Field(index=True)
    batch_id: int | None = _ref("batch.id", null=True)
    unit_id: int | None = _ref("unit.id", null=True)
    probe_id: int | None = _ref("probe.id", null=True)
    finding_id: int | None = _ref("finding.id", null=True)
    vessel: int | None = None
    celsius: float | None = None
    text: str = ""
    by: str = ""
    replaces_id: int | None = _ref("event.id", null=True)
    facts: dict[str, Any] = _json()


# ---------------------------------------------------------------- readings


class Reading(SQLModel, table=True):
    """One kept reading: raw value, and how long after its instant it arrived."""

    __tablename__ = "reading"
    __table_args__: ClassVar[Any] = {"sqlite_with_rowid": False}
    probe_id: int = Field(sa_column=Column(Integer, primary_key=True, autoincrement=False))
    at_ms: int = Field(sa_column=Column(BigInteger, primary_key=True, autoincrement=False))
    celsius: float = Field(sa_column=Column(Float(53), nullable=False))
    lag_ms: int = _ms()
    flags: int = Field(default=0, sa_column=Column(SmallInteger, nullable=False))


class Contested(SQLModel, table=True):
    """A second, differing value at an instant that already has one."""

    __tablename__ = "contested"
    __table_args__: ClassVar[Any] = {"sqlite_with_rowid": False}
    probe_id: int = Field(sa_column=Column(Integer, primary_key=True, autoincrement=False))
    at_ms: int = Field(sa_column=Column(BigInteger, primary_key=True, autoincrement=False))
    celsius: float = Field(sa_column=Column(Float(53), primary_key=True))
    received_ms: int = _ms()


class _Rollup(SQLModel):
    """What a bucket of time holds of one probe, from raw judged values."""

    probe_id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    bucket_ms: int = Field(primary_key=True, sa_type=BigInteger, sa_column_kwargs={"autoincrement": False})
    count: int
    first_ms: int = Field(sa_type=BigInteger)
    last_ms: int = Field(sa_type=BigInteger)
    min_c: float
    mean_c: float
    max_c: float
    hole_ms: int = Field(sa_type=BigInteger)  # longest hole between neighbours inside the bucket


class Rollup5m(_Rollup, table=True):
    """Five-minute buckets."""

    __tablename__ = "rollup_5m"
    __table_args__: ClassVar[Any] = {"sqlite_with_rowid": False}


class Rollup1h(_Rollup, table=True):
    """One-hour buckets."""

    __tablename__ = "rollup_1h"
    __table_args__: ClassVar[Any] = {"sqlite_with_rowid": False}


class SetAsideMessage(SQLModel, table=True):
    """A message that could not be kept as a reading, with its reason; the newest ten thousand are held."""

    __tablename__ = "set_aside"
    id: int | None = _id()
    received_ms: int = _ms()
    topic: str
    payload: str  # at most 512 characters, unprintable ones escaped
    reason: str  # unknown-probe, unreadable, impossible-value, too-large …
    detail: str


class Arrival(SQLModel, table=True):
    """Something the watch has to look at: new readings of a probe, or a changed subject."""

    __tablename__ = "arrival"
    id: int | None = _id()
    kind: str  # readings, placement, event, batch, correction
    probe_id: int | None = Field(default=None)
    batch_id: int | None = Field(default=None)
    unit_id: int | None = Field(default=None)
    first_ms: int = _ms()
    last_ms: int = _ms()
    count: int = 0
    at_ms: int = _ms()  # when it was queued


# ---------------------------------------------------------------- what the watch finds


class ClauseState(SQLModel, table=True):
    """The latest verdict of one clause for one subject; it can always be computed again."""

    __tablename__ = "clause_state"
    __table_args__: ClassVar[Any] = (
        UniqueConstraint("subject", "clause", "day"),
        Index("ix_clause_state_unit_day", "unit_id", "day"),
    )
    id: int | None = _id()
    subject: str = Field(index=True)  # "batch:12:1" (batch id, vessel), "unit:3:7" (unit id, probe id)
    clause: str
    day: str = ""  # local day (ISO) for units, empty for batches
    batch_id: int | None = _ref("batch.id", null=True)
    unit_id: int | None = _ref("unit.id", null=True, index=False)
    probe_id: int | None = _ref("probe.id", null=True)
    vessel: int | None = None
    process: str = ""
    limits: str = ""
    verdict: str
    facts: dict[str, Any] = _json()  # rules.facts.to_facts(ClauseVerdict)
    judged_ms: int = _ms()


class ForecastState(SQLModel, table=True):
    """The latest forecast of one level for one vessel."""

    __tablename__ = "forecast_state"
    __table_args__: ClassVar[Any] = (UniqueConstraint("subject", "clause"),)
    id: int | None = _id()
    subject: str
    batch_id: int = _ref("batch.id")
    vessel: int
    clause: str
    target_c: float
    reaches: bool | None = None
    expected_ms: int | None = _ms(null=True)
    earliest_ms: int | None = _ms(null=True)
    latest_ms: int | None = _ms(null=True)
    reason: str = ""
    facts: dict[str, Any] = _json()  # path: [[at_ms, low_c, mid_c, high_c], …] for the fan
    made_ms: int = _ms()


class Finding(SQLModel, table=True):
    """A deviation, a not-shown, a warning or a fault of the system: its present version."""

    __tablename__ = "finding"
    id: int | None = _id()
    key: str = Field(unique=True)  # identity: subject, clause, start
    kind: str
    subject: str  # "batch:12:1", "unit:3:7", "probe:7", "system:clock"
    title: str  # subject in words: "Pastry cream L1, vessel 2 of 6"
    clause: str = ""
    source: str = ""
    verdict: str = ""
    reason: str
    batch_id: int | None = _ref("batch.id", null=True)
    unit_id: int | None = _ref("unit.id", null=True)
    probe_id: int | None = _ref("probe.id", null=True)
    since_ms: int = _ms()  # since when the food is concerned
    opened_ms: int = _ms()  # when the watch found it
    closed_ms: int | None = _ms(null=True, index=True)
    close_reason: str = ""
    replaced_by: int | None = _ref("finding.id", null=True)
    version: int = 1
    facts: dict[str, Any] = _json()  # due_ms, level_c, rules.facts of the clause


class FindingVersion(SQLModel, table=True):
    """Every version a finding has had; only ever appended."""

    __tablename__ = "finding_version"
    __table_args__: ClassVar[Any] = (UniqueConstraint("finding_id", "version"),)
    id: int | None = _id()
    finding_id: int = _ref("finding.id")
    version: int
    at_ms: int = _ms()
    kind: str
    verdict: str = ""
    reason: str
    closed_ms: int | None = _ms(null=True)
    facts: dict[str, Any] = _json()


class WatchState(SQLModel, table=True):
    """What the watch needs to go on where it was, per subject."""

    __tablename__ = "watch_state"
    subject: str = Field(primary_key=True)
    next_ms: int | None = _ms(null=True)  # when time alone can change its answer
    facts: dict[str, Any] = _json()


# ---------------------------------------------------------------- who is told


class Contact(SQLModel, table=True):
    """Someone who is told, and by which channel."""

    __tablename__ = "contact"
    id: int | None = _id()
    name: str = Field(unique=True)
    url: str
    added_ms: int = _ms()
    retired_ms: int | None = _ms(null=True)


class ContactRoute(SQLModel, table=True):
    """When a contact is told, of what, and after how long nobody has seen it; without one, of everything at once."""

    __tablename__ = "contact_route"
    id: int | None = _id()
    contact_id: int = _ref("contact.id")
    kinds: list[str] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))  # FindingKind; empty is all
    unit_ids: list[int] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))  # empty is everything
    days: list[int] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))  # Monday is 0; empty is all
    from_min: int = 0  # minute of the local day
    to_min: int = 1440
    after_ms: int = _ms()
    added_ms: int = _ms()
    ended_ms: int | None = _ms(null=True)


class Alert(SQLModel, table=True):
    """One message to one contact about one version of a finding, or an entry about it; it waits until a channel took it."""

    __tablename__ = "alert"
    __table_args__: ClassVar[Any] = (
        UniqueConstraint("finding_id", "finding_version", "contact_id", "entry_id"),
        Index("ix_alert_state_next", "state", "next_try_ms"),
    )
    id: int | None = _id()
    finding_id: int = _ref("finding.id")
    finding_version: int
    contact_id: int = _ref("contact.id")
    entry_id: int = _later_number()  # the entry that it tells of; 0 where the watch found something
    wait_ms: int = _later_number()  # how long the finding may stay unseen before this is sent
    held: str = _later_text()  # alerts.hold.Hold: what it has waited for besides, such as the morning
    held_until_ms: int = _later_number()  # until when
    reason: str  # alerts.decide.Reason
    title: str
    body: str
    state: str = AlertState.WAITING.value
    attempts: int = 0
    queued_ms: int = _ms()
    next_try_ms: int = _ms()
    leased_until_ms: int | None = _ms(null=True)
    sent_ms: int | None = _ms(null=True)
    last_error: str = ""


class AlertAttempt(SQLModel, table=True):
    """Every try to deliver an alert; only ever appended."""

    __tablename__ = "alert_attempt"
    id: int | None = _id()
    alert_id: int = _ref("alert.id")
    at_ms: int = _ms()
    taken: bool
    detail: str = ""


class Heard(SQLModel, table=True):
    """A topic on which something speaks that nobody has added, with what its newest message seems to say."""

    __tablename__ = "heard"
    topic: str = Field(primary_key=True)
    first_ms: int = _ms()
    last_ms: int = _ms()
    messages: int = Field(sa_column=Column(BigInteger, nullable=False))
    live: bool  # whether the newest came live, or had waited at the broker
    payload: str  # a Payload; empty where it could not be told
    pointer: str
    time_pointer: str
    unit_pointer: str
    senml_name: str
    unit: str
    celsius: float | None = Field(sa_column=Column(Float(53), nullable=True))
    battery: str
    signal: str
    problem: str  # why the message could not be read as a temperature
    said: str  # the beginning of the newest message


class RoleStatus(SQLModel, table=True):
    """How a long-running part is doing, in its own words."""

    __tablename__ = "role_status"
    role: str = Field(primary_key=True)
    pid: int
    host: str = ""
    at_ms: int = _ms()
    state: str  # starting, ready, trouble, stopped
    detail: str = ""  # one sentence for a person
    facts: dict[str, Any] = _json()
