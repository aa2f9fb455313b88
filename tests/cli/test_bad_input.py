"""What cannot be done is told in one line: what, where, and what to do; the exit status is not 0, nothing is lost."""

import socket
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

import pytest

from tests.support.commands import begin, holdwatch, init, printed, refused, start, succeed
from tests.support.disks import fill, make_read_only, small_disk
from tests.support.mosquitto import free_port

COMMANDS = [
    ("unit", "list"),
    ("probe", "list"),
    ("batch", "list"),
    ("findings",),
    ("contact", "list"),
    ("export", "readings"),
    ("place", "p1", "--unit", "Walk-in 1"),
    ("watch", "--once"),
    ("run", "--no-dashboard"),
]


def make_newer(data: Path) -> None:
    """Let a store be of a version that this program does not know."""
    with closing(sqlite3.connect(data / "holdwatch.db")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_command_without_a_store_says_how_to_make_one(words: tuple[str, ...], tmp_path: Path) -> None:
    """A directory without a record is never made into one by accident."""
    assert "holdwatch init" in refused(*words, "--data", tmp_path)
    assert not (tmp_path / "holdwatch.db").exists()


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_command_on_a_newer_store_says_which_version_it_needs(words: tuple[str, ...], data: Path) -> None:
    """Tables of a later version are neither read nor changed."""
    make_newer(data)
    before = (data / "holdwatch.db").read_bytes()
    assert "made by a newer version of Holdwatch" in refused(*words, "--data", data)
    assert (data / "holdwatch.db").read_bytes() == before


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_command_with_a_broken_settings_file_names_file_and_key(words: tuple[str, ...], data: Path) -> None:
    """A setting that cannot be used is never passed over."""
    (data / "holdwatch.toml").write_text("prt = 8501\n", encoding="utf-8")
    line = refused(*words, "--data", data)
    assert str(data / "holdwatch.toml") in line
    assert "did you mean 'port'?" in line


def test_command_on_a_locked_store_says_who_to_end(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program that keeps the writer's place is named as the reason; when it ends the same command works."""
    monkeypatch.setattr("holdwatch.storage.engine.BUSY_TIMEOUT_MS", 100)
    words = ("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
    with closing(sqlite3.connect(data / "holdwatch.db", isolation_level=None)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        assert "is locked by another process" in refused(*words)
    succeed(*words)


def test_command_on_a_full_disk_says_to_free_some_space(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was committed before can still be read."""
    with small_disk(tmp_path / "disk") as disk:
        data = begin(disk / "kitchen")
        with monkeypatch.context() as full:
            fill(disk, full)
            for _ in range(40):  # SQLite has a few pages in hand
                result = holdwatch("batch", "note", "L1", "note", "stirred well " * 300, "--data", data)
                if result.exit_code:
                    break
            assert result.exit_code == 1
            assert "is full: free some space" in result.stderr
            assert len(result.stderr.splitlines()) == 1
        (disk / "ballast").unlink(missing_ok=True)
        assert printed("unit", "list", "--data", data)[0]["name"] == "Walk-in 1"


def test_command_on_a_read_only_disk_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that went read-only is named as the reason."""
    with small_disk(tmp_path / "disk") as disk:
        data = init(disk / "kitchen")
        with monkeypatch.context() as read_only:
            make_read_only(disk, read_only)
            line = refused("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
        assert "written" in line


def test_run_on_a_port_in_use_says_how_to_go_round_it(data: Path) -> None:
    """Both ports are looked at before anything is started."""
    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        port = taken.getsockname()[1]
        assert "--port" in refused("run", "--data", data, "--port", port, "--broker", "mqtt://127.0.0.1:9")
        line = refused("run", "--data", data, "--no-dashboard", "--broker-port", port)
    assert f"port {port} on 127.0.0.1 is in use" in line
    assert "--broker-port" in line


def test_dashboard_on_a_port_in_use_says_how_to_go_round_it(data: Path) -> None:
    """The screens alone say the same."""
    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        port = taken.getsockname()[1]
        assert f"port {port} on 127.0.0.1 is in use" in refused("dashboard", "--data", data, "--port", port)


def test_listen_on_a_newer_store_ends_with_the_status_that_is_not_restarted(data: Path) -> None:
    """Starting it again would not help, so a supervisor must not."""
    make_newer(data)
    process = start("listen", "--data", data, "--broker", f"mqtt://127.0.0.1:{free_port()}")
    _, said = process.communicate(timeout=60)
    assert process.returncode == 2
    assert "made by a newer version of Holdwatch" in said
    assert len(said.splitlines()) == 1


def test_second_listener_is_refused(kitchen: Path) -> None:
    """Two of them would give one message two instants."""
    broker = f"mqtt://127.0.0.1:{free_port()}"
    first = start("listen", "--data", kitchen, "--broker", broker)
    try:
        lock = kitchen / "listener.lock"
        while not (lock.exists() and lock.read_text(encoding="ascii") == str(first.pid)):
            assert first.poll() is None
        assert f"process {first.pid}" in refused("run", "--data", kitchen, "--no-dashboard", "--broker", broker)
    finally:
        first.terminate()
        first.communicate(timeout=30)


def test_fault_of_our_own_is_one_line_too(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A cook sees no traceback; who asks for it does."""

    def fail(*_args: object, **_kwargs: object) -> None:
        raise ZeroDivisionError("a fault")

    monkeypatch.setattr("holdwatch.storage.register.units", fail)
    assert "a fault in Holdwatch itself (ZeroDivisionError: a fault)" in refused("unit", "list", "--data", data)
    monkeypatch.setenv("HOLDWATCH_DEBUG", "1")
    assert isinstance(holdwatch("unit", "list", "--data", data).exception, ZeroDivisionError)


def test_reader_that_has_seen_enough_is_no_error(kitchen: Path) -> None:
    """`holdwatch … | head` ends quietly."""
    process = start("batch", "list", "--data", kitchen)
    assert process.stdout is not None
    process.stdout.close()
    assert process.stderr is not None
    with process.stderr as stderr:
        assert stderr.read() == ""
    assert process.wait(timeout=60) == 0


def test_nothing_is_started_by_a_command_that_is_refused(data: Path) -> None:
    """A run that is refused leaves no broker behind."""
    make_newer(data)
    refused("run", "--data", data, "--broker-port", free_port())
    found = subprocess.run(["ps", "-eo", "args"], capture_output=True, text=True, check=True).stdout
    assert str(data) not in found
