"""Groups of messages become rows."""

from collections.abc import Callable, Sequence

from holdwatch.intake.keeper import Keeper, Kept
from holdwatch.intake.message import Message
from holdwatch.intake.roster import Roster
from holdwatch.storage.aside import set_aside_counts
from holdwatch.storage.engine import Store
from holdwatch.storage.heard import heard
from holdwatch.storage.tables import ReadingFlag
from tests.intake.conftest import register

NOW_MS = 1_795_500_000_000
Rows = Callable[[str], list[tuple[int, float, int]]]


def message(payload: str, *, topic: str = "holdwatch/p2", at_ms: int = NOW_MS, live: bool = True) -> Message:
    """Return a message as it comes from the broker."""
    return Message(topic, payload.encode(), at_ms, live, qos=1, mid=1, generation=1)


def keep(store: Store, messages: Sequence[Message], keeper: Keeper | None = None) -> Kept:
    """Keep a group in a transaction of its own."""
    keeper = keeper or Keeper(Roster())
    with store.write() as session:
        return keeper.keep(session, keeper.prepare(messages), NOW_MS)


def test_keeper_numbers_of_one_millisecond_are_all_kept(store: Store, kept: Rows) -> None:
    """Equal numbers in one millisecond, in one group or across a restart, are readings of their own."""
    keep(store, [message("4"), message("4"), message("5")])
    keep(store, [message("4")])
    assert kept("p2") == [(NOW_MS + k, c, ReadingFlag.ARRIVAL_INSTANT) for k, c in enumerate((4.0, 4.0, 5.0, 4.0))]


def test_keeper_burst_of_queued_numbers_never_pushes_a_live_one_aside(store: Store, kept: Rows) -> None:
    """What has no known instant is laid down before its arrival, however much it is."""
    keeper = Keeper(Roster())
    for _ in range(4):
        keep(store, [message("4", live=False)] * 1_000, keeper)
    keep(store, [message("5")], keeper)
    rows = kept("p2")
    assert len(rows) == 4_001
    assert rows[-1] == (NOW_MS + 1, 5.0, ReadingFlag.ARRIVAL_INSTANT)
    assert {flags for _, _, flags in rows[:-1]} == {ReadingFlag.UNKNOWN_INSTANT}
    assert rows[0][0] == NOW_MS - 3_999


def test_keeper_number_gives_way_to_an_instant_of_the_devices_own(store: Store, kept: Rows) -> None:
    """In one group, a device's own instant is never taken by a number that only arrived then."""
    at = NOW_MS // 1_000
    group = [
        message('{"t":[4],"u":"C","at":null}', topic="gateway/p3"),
        message(f'{{"t":[5],"u":"C","at":{at}}}', topic="gateway/p3"),
    ]
    keep(store, group)
    assert kept("p3") == [
        (NOW_MS, 5.0, ReadingFlag.OWN_INSTANT),
        (NOW_MS + 1, 4.0, ReadingFlag.ARRIVAL_INSTANT),
    ]


def test_keeper_pack_with_a_bad_record_keeps_the_others(store: Store, kept: Rows) -> None:
    """One record of a pack that is no temperature sets only itself aside."""
    at = NOW_MS // 1_000
    pack = f'[{{"bn":"a","bt":{at},"bu":"Cel","v":4}},{{"t":1,"v":-127}},{{"t":2,"vs":"warm"}},{{"t":3,"v":5}}]'
    found = keep(store, [message(pack, topic="holdwatch/p1")])
    assert [(at_ms, c) for at_ms, c, _ in kept("p1")] == [(NOW_MS, 4.0), (NOW_MS + 3_000, 5.0)]
    with store.read() as session:
        assert set_aside_counts(session) == {"impossible-value": 1, "not-a-number": 1}
    assert found.acks.messages() == [("ack/p1", f'{{"t":[{at},{at + 1},{at + 2},{at + 3}]}}'.encode())]


def test_keeper_probe_added_a_moment_ago_is_known(store: Store, kept: Rows) -> None:
    """Before a topic counts as unknown the register is read again."""
    keeper = Keeper(Roster())
    keep(store, [message("4", topic="holdwatch/p8")], keeper)
    with store.write() as session:
        register(session, "p8", "number")
    keep(store, [message("5", topic="holdwatch/p8")], keeper)
    assert [c for _, c, _ in kept("p8")] == [5.0]


def test_keeper_what_nobody_added_is_heard_with_a_proposal(store: Store) -> None:
    """One row a topic with its newest message; of more topics than a group may bring only some, the others come again."""
    said = [message(f"{n}", topic="holdwatch/x") for n in range(3)]
    said += [message("warm", topic="holdwatch/y", live=False), message("4", topic="holdwatch/p2")]
    keep(store, said)
    keep(store, [message("4", topic=f"holdwatch/many-{n}") for n in range(60)])
    with store.read() as session:
        rows = {row.topic: row for row in heard(session)}
    found = [(row.messages, row.celsius, row.payload, row.live) for row in (rows["holdwatch/x"], rows["holdwatch/y"])]
    assert found == [(3, 2.0, "number", True), (1, None, "number", False)]
    assert "no number" in rows["holdwatch/y"].problem
    assert "holdwatch/p2" not in rows
    assert len(rows) < 30


def test_keeper_marker_says_nothing(store: Store) -> None:
    """Our own markers are no readings of an unknown probe."""
    found = keep(store, [Message("holdwatch/marker/x", b"t", NOW_MS, True, 1, 1, 1, marker=True)])
    assert (found.readings, found.set_aside) == (0, 0)


def test_roster_topics_that_can_bring_no_reading_are_named(store: Store) -> None:
    """A probe on our own acknowledgements would answer itself for ever: it is never subscribed to."""
    roster = Roster()
    with store.write() as session:
        register(session, "p6", "number", topic="ack/p2")
        roster.read(session)
    assert roster.unfit() == ("p6",)
    assert roster.topics_outside() == {"gateway/p3"}
