"""From an independent client through a real broker onto the disk."""

import json
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import paho.mqtt.client as mqtt
import pytest
from sqlmodel import Session, select

from holdwatch import clock
from holdwatch.errors import StorageError, StoreFullError
from holdwatch.intake import keeper
from holdwatch.intake.listener import client_id, run
from holdwatch.storage.aside import recent_set_aside
from holdwatch.storage.engine import Store
from holdwatch.storage.readings import NewReading, Written
from holdwatch.storage.tables import Contested, ReadingFlag, SetAsideMessage
from tests.intake.conftest import ListenSettings, is_ready, listen_status, listening, register
from tests.support.mosquitto import Mosquitto, free_port, mosquitto
from tests.support.waiting import wait_for

pytestmark = pytest.mark.broker
Kept = Callable[[str], list[tuple[int, float, int]]]


def aside(store: Store) -> list[SetAsideMessage]:
    """Return what was set aside, oldest first."""
    with store.read() as session:
        return recent_set_aside(session)[::-1]


@contextmanager
def subscribed(broker: Mosquitto, topic: str) -> Iterator[list[bytes]]:
    """Collect what is published on a topic, as a device would."""
    found: list[bytes] = []
    ready = threading.Event()
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2)
    client.on_connect = lambda *_: client.subscribe(topic, 1)
    client.on_subscribe = lambda *_: ready.set()
    client.on_message = lambda _client, _userdata, message: found.append(bytes(message.payload))
    client.connect("127.0.0.1", broker.port)
    client.loop_start()
    assert ready.wait(10)
    try:
        yield found
    finally:
        client.disconnect()
        client.loop_stop()


def test_listener_all_three_formats_are_kept(store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept) -> None:
    """SenML and JSON are kept at the device's own instant, a bare number at its arrival."""
    now_ms = clock.now_ms() // 1_000 * 1_000
    seconds = now_ms // 1_000
    with listening(store, tmp_path, broker.url):
        began_ms = clock.now_ms()
        broker.publish("holdwatch/p1", f'[{{"bn":"p1","bt":{seconds - 60},"bu":"Cel","v":20.5}},{{"t":60,"v":21.4}}]')
        broker.publish("holdwatch/p2", "-3.25")
        broker.publish("gateway/p3", json.dumps({"t": [41.0], "u": "F", "at": seconds - 5}))
        wait_for(lambda: kept("p1") and kept("p2") and kept("p3"))
        ended_ms = clock.now_ms()
    own = ReadingFlag.OWN_INSTANT
    assert kept("p1") == [(now_ms - 60_000, 20.5, own), (now_ms, 21.4, own)]
    assert kept("p3") == [(now_ms - 5_000, 5.0, own)]
    ((at_ms, celsius, flags),) = kept("p2")
    assert (celsius, flags) == (-3.25, ReadingFlag.ARRIVAL_INSTANT)
    assert began_ms <= at_ms <= ended_ms
    assert aside(store) == []


def test_listener_unreadable_and_unknown_are_set_aside_and_stop_nothing(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept
) -> None:
    """Every message that is no reading is shown with its reason; the next one is kept all the same."""
    bad = {
        "holdwatch/p2": [b"\xff\x00\xfe", b"21,4", b"", b"-127", b"nan"],
        "holdwatch/p1": [b'[{"n":"p1","u":"%RH","v":30}]', b"[" * 5_000, b'[{"n":"p1","u":"Cel","v":4,"x_":1}]'],
        "holdwatch/p9": [b"4.0"],
        "gateway/p3": [b"x" * 70_000, b"{}"],
    }
    with listening(store, tmp_path, broker.url):
        for topic, payloads in bad.items():
            for payload in payloads:
                broker.publish(topic, payload)
        broker.publish("holdwatch/p2", "4.5")
        wait_for(lambda: kept("p2"))
    assert [celsius for _, celsius, _ in kept("p2")] == [4.5]
    found = aside(store)
    assert [(each.topic, each.reason) for each in found] == [
        ("holdwatch/p2", "unreadable"),
        ("holdwatch/p2", "unreadable"),
        ("holdwatch/p2", "unreadable"),
        ("holdwatch/p2", "impossible-value"),
        ("holdwatch/p2", "not-a-number"),
        ("holdwatch/p1", "other-unit"),
        ("holdwatch/p1", "unreadable"),
        ("holdwatch/p1", "unreadable"),
        ("holdwatch/p9", "unknown-probe"),
        ("gateway/p3", "too-large"),
        ("gateway/p3", "unreadable"),
    ]
    assert "probe heard" in found[8].detail


def test_listener_poison_is_acknowledged_and_does_not_come_back(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept
) -> None:
    """What was set aside is acknowledged: a second listener does not get it again."""
    with listening(store, tmp_path, broker.url):
        broker.publish("holdwatch/p2", "poison")
        wait_for(lambda: aside(store))
    with listening(store, tmp_path, broker.url):
        broker.publish("holdwatch/p2", "4.5")
        wait_for(lambda: kept("p2"))
    assert len(aside(store)) == 1


def test_listener_retained_number_is_kept_and_not_judged(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept
) -> None:
    """A retained number may be of last week: its instant is unknown."""
    broker.publish("holdwatch/p2", "3.5", retain=True)
    with listening(store, tmp_path, broker.url):
        wait_for(lambda: kept("p2"))
        broker.publish("holdwatch/p2", "4.5")
        wait_for(lambda: len(kept("p2")) == 2)
    assert [(celsius, flags) for _, celsius, flags in kept("p2")] == [
        (3.5, ReadingFlag.UNKNOWN_INSTANT),
        (4.5, ReadingFlag.ARRIVAL_INSTANT),
    ]


def test_listener_queued_numbers_are_all_kept_and_not_judged(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept
) -> None:
    """Numbers that waited at the broker have no known instant; SenML with its own instant has."""
    with listening(store, tmp_path, broker.url):
        pass
    seconds = clock.now_ms() // 1_000
    for number in range(20):
        broker.publish("holdwatch/p2", "4.0" if number % 2 else str(number))
    broker.publish("holdwatch/p1", f'[{{"n":"p1","u":"Cel","t":{seconds},"v":4}}]')
    broker.publish("holdwatch/p1", '[{"n":"p1","u":"Cel","v":5}]')
    with listening(store, tmp_path, broker.url):
        wait_for(lambda: len(kept("p2")) == 20 and len(kept("p1")) == 2)
        broker.publish("holdwatch/p2", "9.5")
        wait_for(lambda: len(kept("p2")) == 21)
    flags = {celsius: flags for _, celsius, flags in kept("p2")}
    assert flags.pop(9.5) == ReadingFlag.ARRIVAL_INSTANT
    assert set(flags.values()) == {ReadingFlag.UNKNOWN_INSTANT}
    assert {celsius: flags for _, celsius, flags in kept("p1")} == {
        4.0: ReadingFlag.OWN_INSTANT,
        5.0: ReadingFlag.UNKNOWN_INSTANT,
    }


def test_listener_implausible_instant_is_kept_at_arrival_and_not_judged(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept
) -> None:
    """A device whose clock starts in 1970, or runs ahead, loses no reading."""
    ahead = clock.now_ms() // 1_000 + 3_600
    with listening(store, tmp_path, broker.url):
        broker.publish("gateway/p3", '{"t":[4],"u":"C","at":12}')
        broker.publish("gateway/p3", f'{{"t":[5],"u":"C","at":{ahead}}}')
        wait_for(lambda: len(kept("p3")) == 2)
    assert {flags for _, _, flags in kept("p3")} == {ReadingFlag.IMPLAUSIBLE_INSTANT}
    assert all(abs(at_ms - clock.now_ms()) < 60_000 for at_ms, _, _ in kept("p3"))


def test_listener_same_reading_twice_changes_nothing(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept
) -> None:
    """The same probe and instant twice is one reading; a differing value is kept beside it."""
    at = clock.now_ms() // 1_000
    with listening(store, tmp_path, broker.url):
        for celsius in (4, 4, 6):
            broker.publish("gateway/p3", f'{{"t":[{celsius}],"u":"C","at":{at}}}')
        broker.publish("holdwatch/p2", "1")
        wait_for(lambda: kept("p2"))
    assert kept("p3") == [(at * 1_000, 4.0, ReadingFlag.OWN_INSTANT)]
    with store.read() as session:
        (contested,) = session.exec(select(Contested)).all()
    assert contested.celsius == 6.0


def test_listener_device_is_told_what_was_committed(store: Store, broker: Mosquitto, tmp_path: Path) -> None:
    """The acknowledgement names the device's own instants, set aside or kept, and counts values without one."""
    at = clock.now_ms() // 1_000
    with listening(store, tmp_path, broker.url), subscribed(broker, "ack/#") as told:
        broker.publish("gateway/p3", f'{{"t":[4],"u":"C","at":{at}.25}}')
        wait_for(lambda: len(told) == 1)
        broker.publish("gateway/p3", f'{{"t":[-127],"u":"C","at":{at}}}')
        wait_for(lambda: len(told) == 2)
        broker.publish("holdwatch/p2", "4")
        wait_for(lambda: len(told) == 3)
    assert [json.loads(each) for each in told] == [{"t": [at + 0.25]}, {"t": [at]}, {"n": 1}]


def test_listener_probe_added_while_it_runs_is_heard(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept
) -> None:
    """A new probe needs no restart, inside the listened tree at once, outside it within a second or so."""
    with listening(store, tmp_path, broker.url):
        with store.write() as session:
            register(session, "p4", "number")
            register(session, "p5", "number", topic="elsewhere/p5")
        broker.publish("holdwatch/p4", "4")
        wait_for(lambda: kept("p4"))

        def heard() -> bool:
            broker.publish("elsewhere/p5", "5")
            return bool(kept("p5"))

        wait_for(heard, every_s=0.3)
    assert aside(store) == []


def test_listener_broker_restart_is_survived(store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept) -> None:
    """While the broker is away the listener says so; when it is back it listens on."""
    with listening(store, tmp_path, broker.url):
        broker.stop()
        status = wait_for(lambda: (s := listen_status(store)) is not None and s.state == "trouble" and s)
        assert f"cannot reach the broker at 127.0.0.1:{broker.port} since " in status.detail
        assert status.detail.endswith("trying again")
        broker.start()
        wait_for(lambda: is_ready(store))
        broker.publish("holdwatch/p2", "4.5")
        wait_for(lambda: kept("p2"))
    assert kept("p2")[0][1:] == (4.5, ReadingFlag.ARRIVAL_INSTANT)


def test_listener_starts_before_its_broker(store: Store, tmp_path: Path, kept: Kept) -> None:
    """No broker at the start is no reason to end."""
    with mosquitto(tmp_path / "broker") as broker:
        broker.stop()
        with listening(store, tmp_path, broker.url, ready=False):
            wait_for(lambda: (s := listen_status(store)) is not None and s.state == "trouble")
            broker.start()
            wait_for(lambda: is_ready(store))
            broker.publish("holdwatch/p2", "4.5")
            wait_for(lambda: kept("p2"))


def test_listener_wrong_password_is_said(store: Store, tmp_path: Path) -> None:
    """A broker that refuses us is named with its reason, and never with the password."""
    passwords = tmp_path / "passwords"
    passwords.write_text("", encoding="utf-8")
    with mosquitto(tmp_path / "broker", f"allow_anonymous false\npassword_file {passwords}") as broker:
        url = broker.url.replace("//", "//ana:secret@")
        with listening(store, tmp_path, url, ready=False):
            status = wait_for(lambda: (s := listen_status(store)) is not None and s.state == "trouble" and s)
    assert "not authorized" in status.detail
    assert "secret" not in str(status)


def test_listener_failed_commit_is_tried_again_and_nothing_is_acknowledged_before(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While the disk is full nothing is acknowledged; when there is room again the same readings are kept."""
    full = threading.Event()
    real = Store.write

    @contextmanager
    def write(self: Store) -> Iterator[Session]:
        with real(self) as session:
            yield session
            if full.is_set() and threading.current_thread().name == "holdwatch-writer":
                raise StoreFullError("the disk under here is full: free some space")

    monkeypatch.setattr(Store, "write", write)
    with listening(store, tmp_path, broker.url), subscribed(broker, "ack/#") as told:
        full.set()
        for number in range(5):
            broker.publish("holdwatch/p2", str(number))
        status = wait_for(lambda: (s := listen_status(store)) is not None and s.state == "trouble" and s)
        assert "disk under here is full" in status.detail
        assert kept("p2") == []
        assert told == []
        full.clear()
        wait_for(lambda: len(kept("p2")) == 5)
        wait_for(lambda: is_ready(store))
    assert [celsius for _, celsius, _ in kept("p2")] == [0.0, 1.0, 2.0, 3.0, 4.0]


def test_listener_stopped_before_a_commit_gets_the_message_again(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What never reached the disk was never acknowledged: the broker sends it to the next listener."""
    refused = threading.Event()
    real = Store.write

    @contextmanager
    def write(self: Store) -> Iterator[Session]:
        if threading.current_thread().name == "holdwatch-writer":
            refused.set()
            raise StorageError("the disk reports an error")
        with real(self) as session:
            yield session

    at = clock.now_ms() // 1_000
    with monkeypatch.context() as patched:
        patched.setattr(Store, "write", write)
        with listening(store, tmp_path, broker.url):
            broker.publish("gateway/p3", f'{{"t":[4],"u":"C","at":{at}}}')
            assert refused.wait(10)
    assert kept("p3") == []
    with listening(store, tmp_path, broker.url):
        wait_for(lambda: kept("p3"))
    assert kept("p3") == [(at * 1_000, 4.0, ReadingFlag.OWN_INSTANT)]


def test_listener_message_that_the_store_refuses_for_its_own_sake_is_set_aside(
    store: Store, broker: Mosquitto, tmp_path: Path, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One message that breaks its transaction waits until another is taken, and is then set aside."""
    real = keeper.write_readings

    def write_readings(session: Session, readings: Sequence[NewReading], now_ms: int) -> Written:
        if any(reading.celsius == 13.0 for reading in readings):
            raise LookupError("a mistake of ours")
        return real(session, readings, now_ms)

    monkeypatch.setattr(keeper, "write_readings", write_readings)
    with listening(store, tmp_path, broker.url):
        broker.publish("holdwatch/p2", "13")
        broker.publish("holdwatch/p2", "4")
        wait_for(lambda: kept("p2") and aside(store))
    assert [celsius for _, celsius, _ in kept("p2")] == [4.0]
    assert [(each.reason, each.payload) for each in aside(store)] == [("not-kept", "13")]


def test_listener_second_one_on_the_same_data_is_refused(store: Store, broker: Mosquitto, tmp_path: Path) -> None:
    """Two listeners would give one message two instants."""
    with listening(store, tmp_path, broker.url), pytest.raises(StorageError, match="another listener"):
        run(ListenSettings(tmp_path, broker.url), threading.Event())


def test_client_id_is_made_once(tmp_path: Path) -> None:
    """The broker knows us again by the same name, short enough for MQTT 3.1.1."""
    made = client_id(tmp_path)
    assert client_id(tmp_path) == made
    assert len(made) <= 23


def test_listener_stops_at_once_without_a_broker(store: Store, tmp_path: Path) -> None:
    """A listener that has no broker still ends when told to."""
    with listening(store, tmp_path, f"mqtt://127.0.0.1:{free_port()}", ready=False):
        wait_for(lambda: listen_status(store))
    status = listen_status(store)
    assert status is not None
    assert status.state == "stopped"
