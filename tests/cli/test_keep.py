"""``holdwatch keep``."""

from pathlib import Path

from typer.testing import CliRunner, Result

from holdwatch.cli.main import app
from tests.support.commands import holdwatch, printed, refused, succeed

SIGNED = ("--by", "IO", "--sign")


def _typed(pin: str, *words: object) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words], input=f"{pin}\n", prog_name="holdwatch")


def test_how_long_what_is_kept(kitchen: Path) -> None:
    """Told with the laws; changed with a reason, a shorter time with a manager's PIN, and never below the floor."""
    here = ("--data", kitchen)
    (readings,) = [each for each in printed("keep", "show", *here) if each["kind"] == "readings"]
    assert (readings["days"], readings["floor_days"], readings["by"]) == (1096, 731, None)
    said = ("keep", "set", "readings")
    assert "for 2 years at least" in refused(*said, "1y", "--why", "x", *here)
    assert "manager's PIN" in refused(*said, "2y", "--why", "x", *here)
    assert "kept for good: they stand in the chain" in refused("keep", "set", "deeds", "9y", "--why", "x", *here)
    assert "no kind of record" in refused("keep", "set", "labels", "9y", "--why", "x", *here)
    assert "write 3y" in refused(*said, "long", "--why", "x", *here)
    succeed("person", "add", "Ines Okafor", "--initials", "IO", "--role", "manager", *here)
    assert _typed("2739", "person", "pin", "IO", *here).exit_code == 0
    assert "not the PIN of Ines Okafor" in _typed("1111", *said, "2y", "--why", "x", *SIGNED, *here).output
    assert _typed("2739", *said, "2y", "--why", "the disk is small", *SIGNED, *here).exit_code == 0
    shown = succeed("keep", "show", *here)
    assert "readings: 2 years, never less than 2 years" in shown
    assert "21 CFR 117.315" in shown
    assert "Ines Okafor" in shown.splitlines()[-1]
    assert "the disk is small" in shown.splitlines()[-1]


def test_thinning_says_first_what_would_go(kitchen: Path) -> None:
    """And does nothing without a manager's word."""
    here = ("--data", kitchen)
    assert "Nothing is old enough" in succeed("keep", "thin", *here)
    assert printed("keep", "thin", *here) == []
    assert "signed with the PIN" in refused("keep", "thin", "--take-away", *here)
    succeed("keep", "set", "readings", "always", "--why", "for my children", *here)
    assert "kept for good here" in refused("keep", "thin", *here)
    assert holdwatch("verify", *here).exit_code == 0
