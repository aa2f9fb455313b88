"""``holdwatch backup`` and ``restore``: a drill, and the real thing."""

import sqlite3
from pathlib import Path

import pytest

from holdwatch.storage.backups import make_backup, put_back
from holdwatch.storage.chain import head
from holdwatch.storage.engine import Store, open_store
from tests.storage.conftest import cluster, postgres_url
from tests.storage.kitchen import open_kitchen
from tests.support.commands import holdwatch, printed, refused, succeed
from tests.support.postgres import Cluster

__all__ = ["cluster", "postgres_url"]


def test_a_backup_is_drilled_and_put_back(kitchen: Path, tmp_path: Path) -> None:
    """What is put back is the record, by its own chain and by a digest from outside."""
    out, digest = tmp_path / "kept.db", printed("verify", "--data", kitchen)["head"]
    assert "is written" in succeed("backup", "-o", out, "--data", kitchen)
    assert "up to there it is the record that it was" in succeed("restore", out, "--drill", "--digest", digest)
    new = tmp_path / "new"
    assert "It is back." in succeed("restore", out, "--data", new)
    assert printed("verify", "--digest", digest, "--data", new)["whole"]
    assert not list(tmp_path.glob(".*half"))


def test_a_backup_that_was_changed_is_not_whole(kitchen: Path, tmp_path: Path) -> None:
    """The drill says so, with exit status 1."""
    out = tmp_path / "kept.db"
    succeed("backup", "-o", out, "--data", kitchen)
    with sqlite3.connect(out) as kept:
        kept.execute("UPDATE batch SET product = 'Ganache'")
    result = holdwatch("restore", str(out), "--drill")
    assert (result.exit_code, "NOT WHOLE  altered: batch 1" in result.stdout) == (1, True)


def test_a_later_digest_shows_that_a_backup_is_older(kitchen: Path, tmp_path: Path) -> None:
    """It is whole, and does not hold what was recorded since."""
    out = tmp_path / "kept.db"
    succeed("backup", "-o", out, "--data", kitchen)
    succeed("batch", "note", "L1", "note", "door", "--data", kitchen)
    digest = printed("verify", "--data", kitchen)["head"]
    assert holdwatch("restore", str(out), "--drill", "--digest", digest).exit_code == 1


def test_nothing_is_ever_written_over(kitchen: Path, tmp_path: Path) -> None:
    """Neither a backup, nor a store; and what is no backup is refused in one line."""
    out = tmp_path / "kept.db"
    succeed("backup", "-o", out, "--data", kitchen)
    assert "is there already" in refused("backup", "-o", out, "--data", kitchen)
    assert "holds a store already" in refused("restore", out, "--data", kitchen)
    (tmp_path / "none.db").write_text("nothing")
    assert "is no backup of such a store" in refused("restore", tmp_path / "none.db", "--drill")
    assert "cannot be read" in refused("restore", tmp_path / "nowhere.db", "--drill")
    (tmp_path / "broken.db").write_bytes(out.read_bytes()[:8192])
    assert "take an earlier backup" in refused("restore", tmp_path / "broken.db", "--data", tmp_path / "broken")
    assert "cannot be written" in refused("backup", "-o", out / "x.db", "--data", kitchen)


@pytest.mark.postgresql
def test_a_backup_of_postgresql_is_put_back(postgres_url: str, cluster: Cluster, tmp_path: Path) -> None:
    """By its own programs, into an empty database, and nowhere else."""
    from holdwatch.errors import ConfigError
    from holdwatch.records.verify import verify

    store = open_store(postgres_url)
    with store.write() as session:
        open_kitchen(session)
    with store.read() as session:
        digest = head(session)[1]
    make_backup(store, tmp_path / "kept.dump")
    store.close()
    with pytest.raises(ConfigError, match="holds tables already"):
        put_back(tmp_path / "kept.dump", postgres_url)
    name = cluster.create()
    put_back(tmp_path / "kept.dump", cluster.url(name))
    back: Store = open_store(cluster.url(name))
    found = verify(back, [digest])
    back.close()
    cluster.drop(name)
    assert (found.whole, found.held_until) == (True, found.lines)
