"""Which limits governed when, by their own text; what a manager confirmed with the authority; what set-up asked."""

from datetime import date
from pathlib import Path

import pytest
from sqlmodel import Session
from typer.testing import CliRunner, Result

from holdwatch import clock
from holdwatch.cli.main import app as holdwatch
from holdwatch.errors import ConfigError, LimitsError
from holdwatch.limits import load_limits
from holdwatch.limits.authorities import codes_for
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.inforce import FileNow, confirm_limits, confirmation_of, confirmations, file_now, limits_of
from holdwatch.storage.people import add_person
from holdwatch.storage.register import events, set_site, site_at
from holdwatch.storage.tables import EventKind, SiteVersion
from holdwatch.views.limits import governing, versions
from holdwatch.watch.site import in_force

NOW = 1_780_000_000_000
HOUR = 3_600_000
TODAY = date(2026, 5, 28)
HEAD = 'id = "house"\ntitle = "House plan"\nauthority = "us"\nedition = "{}"\ncaution = "Ours."\nbase = "us-food-code-2022"\n'
STRICTER = """
[cold-holding]
clause = "P1"
source = "House plan, P1"
requires = "held at {} or less"
level = "{}"
confidence = "seen"
read_on = 2026-11-25
read_at = ["the wall"]
"""
LAXER = """
[laxer]
author = "R. Linden"
date = 2026-05-01
reason = "the case is emptied by noon"
approved_by = "J. Ortiz, letter 77"
approved_on = 2026-05-10
"""


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """A store of this version."""
    return open_store(store_url(tmp_path / "data", None), migrate=True)


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    """A site's own plan."""
    path = tmp_path / "house.toml"
    _write(path, "1", "39 °F")
    return path


def _write(path: Path, edition: str, level: str, more: str = "") -> None:
    path.write_text(HEAD.format(edition) + STRICTER.format(level, level) + more, encoding="utf-8")


def _site(session: Session, at_ms: int, limits: str | None, **more: str) -> SiteVersion:
    first = {"name": "Linden Street Patisserie", "timezone": "America/Denver"}
    return set_site(session, from_ms=at_ms, now_ms=NOW, by="Ines Okafor", limits=limits, **first, **more)


def _confirm(session: Session, site: SiteVersion, *, by: str = "Ines Okafor", on: date = TODAY) -> None:
    confirm_limits(session, site, person="J. Ortiz", on=on, how="letter", today=TODAY, now_ms=NOW, by=by)


# ---------------------------------------------------------------- which text governed an instant


def test_limits_in_force_are_the_text_that_was_read(store: Store, plan: Path) -> None:
    """Editing a file, or losing it, changes nothing that governs; taking it into force changes what comes after."""
    with store.write() as session:
        _site(session, NOW - 5 * HOUR, str(plan))
        _write(plan, "2", "38 °F")
        _site(session, NOW - HOUR, str(plan))
    plan.unlink()
    with store.read() as session:
        levels = []
        for at in (NOW - 5 * HOUR, NOW - HOUR - 1, NOW - HOUR, NOW):
            limits = in_force(session, at).limits
            assert limits.cold_holding is not None
            levels.append((str(limits.cold_holding.level.temperature), limits.edition))
        assert levels == [("39 °F", "1"), ("39 °F", "1"), ("38 °F", "2"), ("38 °F", "2")]
        assert [each.limits.edition for each in versions(session)] == ["1", "2"]


def test_a_plan_keeps_the_base_that_it_was_read_with(store: Store, plan: Path) -> None:
    """What the plan leaves to its base is judged by the base of then."""
    with store.write() as session:
        site = _site(session, 0, str(plan))
        limits = limits_of(session, site)
        assert limits.cooling == load_limits("us-food-code-2022").cooling
        assert limits.digest == site.limits_digest == load_limits(str(plan)).digest


def test_a_change_of_the_site_leaves_the_limits_as_they_are(store: Store, plan: Path) -> None:
    """Setting the unit does not take an edited file into force."""
    with store.write() as session:
        first = _site(session, 0, str(plan), authority="Denver, Colorado", raw_egg="no", susceptible="yes")
        _write(plan, "2", "38 °F")
        later = set_site(session, unit="C", from_ms=NOW, now_ms=NOW, by="Ines")
        assert later.limits_digest == first.limits_digest
        assert (later.authority, later.raw_egg, later.susceptible) == ("Denver, Colorado", "no", "yes")
        assert file_now(session, later) is FileNow.EDITED


def test_a_store_of_before_reads_the_file_it_names(store: Store) -> None:
    """A version of the site that names no text is judged by the file, as it was."""
    with store.write() as session:
        site = SiteVersion(from_ms=0, name="x", timezone="UTC", limits="scotland", by="x", recorded_ms=0)
        session.add(site)
        session.flush()
        assert limits_of(session, site).id == "scotland"
        assert governing(session, site).confirmed == "not confirmed with your authority"


def test_a_broken_plan_is_not_taken_into_force(store: Store, plan: Path) -> None:
    """What breaks the schema is refused, and what governed goes on governing."""
    with store.write() as session:
        _site(session, 0, str(plan))
    plan.write_text("id = 3", encoding="utf-8")
    with pytest.raises(LimitsError), store.write() as session:
        _site(session, NOW, str(plan))
    with store.read() as session:
        assert limits_of(session, site_at(session, None)).edition == "1"


# ---------------------------------------------------------------- confirmed with the authority


def test_confirmation_is_of_one_text_and_one_authority(store: Store, plan: Path) -> None:
    """An edited file, and another authority, are not confirmed; the history keeps what was."""
    with store.write() as session:
        site = _site(session, NOW - 5 * HOUR, str(plan), authority="Denver Public Health, Colorado")
        assert governing(session, site).confirmed == "not confirmed with your authority"
        _confirm(session, site)
        assert governing(session, site).confirmed.startswith(
            "confirmed with Denver Public Health, Colorado by J. Ortiz on 28 May 2026 (letter), recorded by Ines Okafor"
        )
        _write(plan, "2", "38 °F")
        assert governing(session, site).confirmed.startswith("not confirmed with your authority: the file was edited")
        with pytest.raises(ConfigError, match="was edited since it was taken into force"):
            _confirm(session, site)
        edited = _site(session, NOW - 2 * HOUR, str(plan))
        assert governing(session, edited).confirmed == "not confirmed with your authority"
        _write(plan, "1", "39 °F")
        assert confirmation_of(session, site) is not None
        moved = _site(session, NOW - HOUR, str(plan), authority="Boulder County, Colorado")
        assert governing(session, moved).confirmed == "not confirmed with your authority"
        assert [each.authority for each in confirmations(session)] == ["Denver Public Health, Colorado"]
        event = events(session, kinds=[EventKind.LIMITS_CONFIRMED])[0]
        assert event.facts["digest"] == site.limits_digest


def test_confirmation_needs_an_authority_a_day_and_a_manager(store: Store) -> None:
    """Nobody confirms for tomorrow, for no authority, without a name, or as a cook."""
    with store.write() as session:
        site = _site(session, NOW - HOUR, "us-food-code-2022")
        with pytest.raises(ConfigError, match="say first who inspects you"):
            _confirm(session, site)
        site = _site(session, NOW, None, authority="Denver, Colorado")
        with pytest.raises(ConfigError, match="29 May 2026 lies ahead"):
            _confirm(session, site, on=date(2026, 5, 29))
        with pytest.raises(ConfigError, match="is no name of a manager"):
            _confirm(session, site, by=" ")
        add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by="x")
        add_person(session, "Tom Reyes", "TR", "cook", now_ms=NOW, by="x")
        with pytest.raises(ConfigError, match="Tom Reyes is no manager here: it takes Ines Okafor"):
            _confirm(session, site, by="Tom Reyes")
        _confirm(session, site, by="io")
        assert confirmations(session)[0].by == "Ines Okafor"


# ---------------------------------------------------------------- what stands wherever the limits are used


def test_a_laxer_plan_says_so_wherever_it_governs(store: Store, plan: Path) -> None:
    """Author, day, reason and the authority's approval stand in the sentence; the foot of a paper names the base."""
    _write(plan, "3", "45 °F", LAXER)
    with store.write() as session:
        found = governing(session, _site(session, 0, str(plan)))
        assert found.warnings[0].startswith("This plan is LAXER than FDA Food Code 2022 in cold-holding: by R. Linden")
        assert "approved by J. Ortiz, letter 77 on 10 May 2026" in found.warnings[0]
        assert "Held to a plan that is laxer than its code." in found.small


def test_a_plan_without_a_base_says_that_nobody_compared_it(store: Store, plan: Path) -> None:
    """A file of one's own that names no code may be laxer than the law: that is told, not hidden."""
    _write(plan, "4", "45 °F")
    plan.write_text(plan.read_text(encoding="utf-8").replace('base = "us-food-code-2022"\n', ""), encoding="utf-8")
    with store.write() as session:
        found = governing(session, _site(session, 0, str(plan), raw_egg="no", susceptible="no"))
    assert found.warnings == ("House plan names no code as its base: whether it is laxer than the law is not shown.",)


@pytest.mark.parametrize(
    ("limits", "answers", "told"),
    [
        (
            "us-food-code-2022",
            ("", ""),
            ["is raw or undercooked egg served, and are highly susceptible people served?"],
        ),
        ("us-food-code-2022", ("no", ""), ["Not answered at set-up: are highly susceptible people served?"]),
        ("us-food-code-2022", ("no", "no"), []),
        ("us-food-code-2022", ("yes", "no"), ["(3-302.13)."]),
        ("us-food-code-2022", ("no", "yes"), ["(3-801.11(B)).", "(3-801.11(E))."]),
        ("us-food-code-2013", ("yes", "yes"), ["(3-801.11(B)).", "(3-801.11(E))."]),
        ("scotland", ("yes", "no"), ["QFF -18 °C (secondary).", "Scots law gives no rule on raw egg"]),
        ("ireland", ("no", "no"), ["Not seen in the code's own text: FSAI cooling (secondary), FSAI hot holding"]),
        ("new-zealand", ("no", "no"), ["Not seen in the code's own text: plan (memory)."]),
    ],
)
def test_answers_of_set_up_and_figures_not_seen_are_told(
    store: Store, limits: str, answers: tuple[str, str], told: list[str]
) -> None:
    """What nobody answered is asked on, what follows from an answer is told with its clause."""
    raw_egg, susceptible = answers
    with store.write() as session:
        found = governing(session, _site(session, 0, limits, raw_egg=raw_egg, susceptible=susceptible))
    seen = [sentence for sentence in found.warnings if "3-501.19(B)(2) (secondary)" not in sentence]
    assert len(found.warnings) - len(seen) == (limits == "us-food-code-2022")
    assert len(seen) == len(told)
    for words, sentence in zip(told, seen, strict=True):
        assert words in sentence


# ---------------------------------------------------------------- who inspects you?


@pytest.mark.parametrize(
    ("authority", "codes"),
    [
        ("Denver Public Health, Colorado", ("us-food-code-2022",)),
        ("Public Health Madison, wisconsin", ("us-food-code-2013",)),
        ("King County, Washington", ("us-food-code-2022", "us-food-code-2013")),
        ("West Virginia Bureau", ("us-food-code-2022", "us-food-code-2013")),
        ("Belfast City Council, Northern Ireland", ("england-wales-ni",)),
        ("FSAI, Ireland", ("ireland",)),
        ("Glasgow, Scotland", ("scotland",)),
        ("United Kingdom", ("scotland", "england-wales-ni")),
        ("Moncton, New Brunswick", ("ca-new-brunswick",)),
        ("City of Sydney, New South Wales", ("australia",)),
        ("Auckland Council, New Zealand", ("new-zealand",)),
        ("Toronto, Ontario", ()),
        ("", ()),
    ],
)
def test_authority_leads_to_its_codes(authority: str, codes: tuple[str, ...]) -> None:
    """The place named decides; where several files may hold, or none, whoever sets up chooses."""
    assert codes_for(authority) == codes


def _run(*words: str, typed: str = "") -> Result:
    return CliRunner().invoke(holdwatch, list(words), input=typed)


def _init(path: Path, *more: str, typed: str = "") -> Result:
    site = ("--site", "Linden Street Patisserie", "--timezone", "America/Denver")
    return _run("init", "--data", str(path), *site, *more, typed=typed)


def test_init_asks_who_inspects_and_two_questions(tmp_path: Path) -> None:
    """The authority is named, the code chosen from it, and a question put off stays open."""
    done = _init(tmp_path, "--ask", typed="King County, Washington\n9\n2\nmaybe\nyes\nlater\n")
    assert done.exit_code == 0, done.output
    assert "* 1  us-food-code-2022: FDA Food Code 2022, model-code" in done.output
    told = _run("limits", "history", "--data", str(tmp_path)).stdout
    assert "us-food-code-2013" in told
    assert "King County, Washington" in told
    assert "not confirmed with your authority" in told
    assert "Not answered at set-up: are highly susceptible people served?" in told
    assert "(3-302.13)." in told


def test_init_without_a_terminal_takes_the_code_of_the_authority(tmp_path: Path) -> None:
    """Nothing is asked; what cannot be told from the place is refused with what to do."""
    assert "--limits" in _init(tmp_path / "a", "--authority", "Texas").stderr
    assert "no limits file names the place" in _init(tmp_path / "b", "--authority", "Ontario").stderr
    assert "--raw-egg 'perhaps' is no answer" in _init(tmp_path / "c", "--raw-egg", "perhaps").stderr
    assert _init(tmp_path / "d", "--authority", "Cardiff, Wales").exit_code == 0
    assert "england-wales-ni" in _run("limits", "history", "--data", str(tmp_path / "d")).stdout
    assert "Nobody said who inspects you" in _init(tmp_path / "e").stdout


def test_limits_use_and_confirm_on_the_command_line(
    tmp_path: Path, plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From taking a plan into force to its confirmation, and back to unconfirmed once it is edited."""
    monkeypatch.setattr(clock, "now_ms", lambda: NOW)
    data = ("--data", str(tmp_path / "data"))
    assert _init(tmp_path / "data", "--authority", "Denver, Colorado").exit_code == 0
    assert "say what changes" in _run("limits", "use", *data).stderr
    assert "House plan (1), not confirmed" in _run("limits", "use", str(plan), *data).stdout
    said = _run("limits", "confirm", "--person", "J. Ortiz", "--by", "Ines Okafor", "--on", "2026-05-20", *data)
    assert "confirmed with Denver, Colorado by J. Ortiz on 20 May 2026, recorded by Ines Okafor" in said.stdout
    _write(plan, "2", "38 °F")
    assert "the file was edited since" in _run("limits", "history", *data).stdout
    assert "House plan (2), not confirmed with your authority." in _run("limits", "use", str(plan), *data).stdout
    told = _run("limits", "history", *data).stdout
    assert told.count(str(load_limits(str(plan)).digest[:12])) == 1
    assert "was confirmed by J. Ortiz of Denver, Colorado on 2026-05-20" in told
    assert '"confirmed": false' in _run("limits", "history", "--json", *data).stdout
    second = plan.read_text(encoding="utf-8")
    plan.unlink()
    assert _run("limits", "text", *data).stdout == second
    assert _run("limits", "text", load_limits("us-food-code-2022").digest[:12], *data).stdout.startswith("# FDA Food")
    assert "no text of limits begins with 'xyz': there are" in _run("limits", "text", "xyz", *data).stderr
