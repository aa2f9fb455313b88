"""A store that lies elsewhere is found again without being named again."""

import tomllib
from pathlib import Path

import pytest

from tests.support.commands import SITE, holdwatch, printed, refused, succeed
from tests.support.postgres import postgres_cluster


def check_found_again(data: Path, url: str) -> None:
    """Make a store elsewhere, and use it by its data directory alone."""
    succeed("init", "--data", data, *SITE, "--database-url", url)
    settings = data / "holdwatch.toml"
    assert tomllib.loads(settings.read_text(encoding="utf-8")) == {"database_url": url}
    assert settings.stat().st_mode & 0o077 == 0  # it may hold a password
    assert not (data / "holdwatch.db").exists()
    succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
    assert [unit["name"] for unit in printed("unit", "list", "--data", data)] == ["Walk-in 1"]
    assert "already is the record of" in refused("init", "--data", data, *SITE)


def test_init_with_a_store_elsewhere_writes_down_where(tmp_path: Path) -> None:
    """On SQLite."""
    check_found_again(tmp_path / "kitchen", f"sqlite:///{tmp_path / 'elsewhere.db'}")


@pytest.mark.postgresql
def test_init_with_a_store_on_postgresql_writes_down_where(tmp_path: Path) -> None:
    """On PostgreSQL."""
    with postgres_cluster() as cluster:
        url = cluster.url(cluster.create())
        check_found_again(tmp_path / "kitchen", url)


def test_init_leaves_a_settings_file_as_it_is(tmp_path: Path) -> None:
    """What a person wrote is not written over; the line to add is told, with the store made."""
    data = tmp_path / "kitchen"
    data.mkdir()
    (data / "holdwatch.toml").write_text("port = 9000\n", encoding="utf-8")
    url = f"sqlite:///{tmp_path / 'elsewhere.db'}"
    result = holdwatch("init", "--data", data, *SITE, "--database-url", url)
    assert result.exit_code == 0
    assert f'database_url = "{url}"' in result.stderr
    assert (data / "holdwatch.toml").read_text(encoding="utf-8") == "port = 9000\n"
