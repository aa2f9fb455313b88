"""Bringing a store up to a newer version: alone, after a backup, all or nothing."""

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.script import ScriptDirectory
from sqlalchemy import text

from holdwatch.errors import StorageError
from holdwatch.storage import engine as engine_module
from holdwatch.storage import migrating
from holdwatch.storage.engine import Store, head_version, migrate, open_store, store_url, store_version
from holdwatch.storage.lock import listener_lock
from holdwatch.storage.locks import exclusive
from holdwatch.storage.place import parse_url
from holdwatch.storage.readings import NewReading, count_readings, write_readings
from holdwatch.storage.versions import VERSIONS
from tests.storage.kitchen import NOW

_PRESENT, _LATER = head_version(), "9999"

_NEXT = f'''"""A later version."""
import sqlalchemy as sa
from alembic import op
revision, down_revision, branch_labels, depends_on = "{_LATER}", "{_PRESENT}", None, None
def upgrade() -> None:
    with op.batch_alter_table("unit") as table:
        table.add_column(sa.Column("shelf", sa.String(), nullable=False, server_default=""))
        table.drop_constraint("uq_unit_name")
'''


@pytest.fixture
def _new_stores_are_copies() -> None:
    """Migrate each store here."""


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let the program be one version newer than the stores of the other fixtures."""
    scripts = tmp_path / "scripts"
    (scripts / "versions").mkdir(parents=True)
    for path in (migrating._SCRIPTS / "env.py", *(migrating._SCRIPTS / "versions").glob("0*.py")):
        (scripts / path.relative_to(migrating._SCRIPTS)).write_text(path.read_text())
    newest = scripts / "versions" / f"{_LATER}_later.py"
    newest.write_text(_NEXT)
    monkeypatch.setattr(migrating, "_SCRIPTS", scripts)
    for module in (migrating, engine_module):
        monkeypatch.setattr(module, "VERSIONS", (*VERSIONS, _LATER))
        monkeypatch.setattr(module, "head_version", lambda: _LATER)
    return newest


def _keep_one(store: Store) -> None:
    with store.write() as session:
        write_readings(session, [NewReading(1, NOW, 4.0, NOW)], NOW)
        session.connection().execute(text("INSERT INTO unit (name, kind, added_ms) VALUES ('Walk-in 1', 'walk-in', 1)"))
        session.connection().execute(
            text(
                "INSERT INTO placement (probe_id, unit_id, vessel, slowest, from_ms, by, recorded_ms)"
                " SELECT id, 1, 1, false, 1, '', 1 FROM probe"
            )
        )


def test_versions_named_are_the_scripts_in_order() -> None:
    """The version check needs no Alembic; the names it knows are those of the scripts."""
    scripts = ScriptDirectory.from_config(migrating.configuration())
    assert tuple(script.revision for script in scripts.walk_revisions())[::-1] == VERSIONS
    assert scripts.get_current_head() == head_version()


def test_open_store_needs_no_alembic() -> None:
    """Opening a store that is of this version loads nothing heavy."""
    code = "import sys, holdwatch.storage.engine; print('alembic' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_migrate_again_changes_nothing(store: Store, tmp_path: Path) -> None:
    """A store of this version is left as it is, without a backup."""
    _keep_one(store)
    migrate(store)
    assert not (tmp_path / "backups").exists()
    with store.read() as session:
        assert count_readings(session) == 1


def test_migrate_keeps_what_was_there(url: str, later: Path) -> None:
    """Rows stay; a table that SQLite makes anew keeps those that refer to it."""
    assert later.exists()
    old = Store(parse_url(url))
    _keep_one(old)
    old.close()
    store = open_store(url, migrate=True)
    try:
        assert store_version(store) == _LATER
        with store.read() as session:
            assert count_readings(session) == 1
            assert session.connection().execute(text("SELECT name, shelf FROM unit")).all() == [("Walk-in 1", "")]
    finally:
        store.close()


def test_migrate_backs_up_a_sqlite_store_first(tmp_path: Path, later: Path) -> None:
    """The copy is whole, of the old version, and never written over."""
    assert later.exists()
    data = tmp_path / "data"
    store = Store(parse_url(store_url(data, None)))
    data.mkdir()
    later.rename(later.with_suffix(".away"))
    migrating._upgrade(store)
    _keep_one(store)
    later.with_suffix(".away").rename(later)
    (data / "backups").mkdir()
    (data / "backups" / f"holdwatch-{_PRESENT}-1.db").write_text("an older backup")
    migrate(store)
    store.close()
    assert (data / "backups" / f"holdwatch-{_PRESENT}-1.db").read_text() == "an older backup"
    copy = sqlite3.connect(data / "backups" / f"holdwatch-{_PRESENT}-2.db")
    assert copy.execute("SELECT version_num FROM alembic_version").fetchall() == [(_PRESENT,)]
    assert copy.execute("SELECT count(*) FROM reading").fetchall() == [(1,)]
    assert copy.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    copy.close()


def test_migrate_failing_leaves_the_old_version(url: str, later: Path) -> None:
    """A migration is one transaction: half of it is never seen."""
    later.write_text(_NEXT + '    op.execute("SELECT no_such_thing")\n')
    old = Store(parse_url(url))
    _keep_one(old)
    with pytest.raises(Exception, match="no_such_thing"):
        migrate(old)
    assert store_version(old) == _PRESENT
    with old.read() as session:
        columns = session.connection().execute(text("SELECT * FROM unit")).keys()
    assert "shelf" not in columns
    old.close()


def test_migrate_while_a_listener_runs_is_refused(url: str, later: Path) -> None:
    """An older listener would go on writing into newer tables."""
    assert later.exists()
    old = Store(parse_url(url))
    with listener_lock(old), pytest.raises(StorageError, match="another listener") as caught:
        open_store(url, migrate=True)
    assert "\n" not in str(caught.value)
    assert store_version(old) == _PRESENT
    old.close()


def test_migrate_while_another_one_does_is_refused(url: str, later: Path) -> None:
    """Only one process brings a store up."""
    assert later.exists()
    old = Store(parse_url(url))
    with exclusive(old, "migration", "taken"), pytest.raises(StorageError, match="wait until it is done"):
        open_store(url, migrate=True)
    old.close()


def test_backup_that_cannot_be_written_is_one_line(sqlite_store: Store, tmp_path: Path) -> None:
    """No half of a backup is left, and the store is as it was."""
    (tmp_path / "backups").write_text("in the way")
    with pytest.raises(StorageError, match="cannot be written") as caught:
        migrating.backup(sqlite_store, tmp_path / "backups" / "copy.db")
    assert "\n" not in str(caught.value)
