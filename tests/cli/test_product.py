"""``holdwatch product``, and a batch that is started by the plan."""

from pathlib import Path

import pytest

from holdwatch.plan.starters import known_starters
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.events import events
from holdwatch.storage.tables import EventKind
from tests.support.commands import printed, refused, succeed


def _cream(data: Path, *more: str) -> None:
    succeed("product", "take", "pastry-cream", *more, "--data", data)


def test_starters_are_listed_and_written_as_files(data: Path, tmp_path: Path) -> None:
    """A file that was written is taken into the plan again."""
    listed = succeed("product", "starters")
    assert all(word in listed for word in known_starters())
    for word in known_starters():
        (tmp_path / "one.toml").write_text(succeed("product", "starters", word), encoding="utf-8")
        assert "is in the plan" in succeed("product", "set", tmp_path / "one.toml", "--data", data)
    assert len(printed("product", "list", "--data", data)) == len(known_starters())


def test_a_starter_is_taken_and_says_what_is_to_be_checked(data: Path) -> None:
    """What is answered at once is not asked again."""
    said = succeed("product", "take", "lemon-curd", "--answer", "egg=pasteurised", "--data", data)
    assert "To check: Are its pH and water activity known?" in said
    assert "Is the egg in it pasteurised" not in said
    assert 'holdwatch product answer "Lemon curd" ph-and-aw' in said
    assert "already: give this one another --name" in refused("product", "take", "lemon-curd", "--data", data)
    succeed("product", "take", "lemon-curd", "--name", "Lime curd", "--data", data)
    assert [row["name"] for row in printed("product", "list", "--data", data)] == ["Lemon curd", "Lime curd"]


def test_a_product_is_shown_with_the_limits_in_force(data: Path) -> None:
    """The seven principles of each step; FDA Food Code 2022, 3-501.14(A)."""
    _cream(data)
    said = succeed("product", "show", "pastry cream", "--data", data)
    assert "Critical limit: 135 °F to 70 °F within 2 h (3-501.14(A)(1)); 135 °F to 41 °F or less" in said
    for row in ("Hazard", "Critical control point", "Monitoring", "Corrective action", "Verification", "Record"):
        assert said.count(f"  {row}: ") == 4
    assert "egg: TO CHECK" in said


def test_changes_stand_in_the_history_with_who_and_why(data: Path) -> None:
    """What was before is told beside what is."""
    succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
    _cream(data, "--by", "Ines Okafor")
    succeed("product", "answer", "Pastry cream", "egg", "raw", "--by", "Ines Okafor", "--data", data)
    words = ("product", "step", "Pastry cream", "3", "--data", data, "--by", "Ines Okafor")
    succeed(*words, "--place", "Walk-in 1", "--why", "always there")
    succeed("product", "step", "Pastry cream", "4", "--remove", "--data", data)
    succeed("product", "retire", "Pastry cream", "--why", "bought in now", "--data", data)
    told = succeed("product", "history", "Pastry cream", "--data", data)
    assert "Ines Okafor: always there\n    step 3 place: nothing → Walk-in 1" in told
    assert "egg answer said: nothing → raw" in told
    assert told.rstrip().endswith("bought in now\n    retired")
    rows = printed("product", "history", "Pastry cream", "--data", data)
    assert [len(row["plan"].get("steps", [])) for row in rows] == [4, 4, 4, 3, 0]
    assert printed("product", "list", "--data", data) == []


def test_a_shelf_life_of_our_own_is_set_and_taken_back(data: Path) -> None:
    """It stands beside the date mark of the code."""
    _cream(data)
    words = ("product", "shelf-life", "Pastry cream", "--data", data)
    assert "3 d of our own" in succeed(*words, "--days", "3", "--discard", "At closing.")
    (row,) = printed("product", "list", "--data", data)
    assert (row["shelf_days"], row["discard"]) == (3, "At closing.")
    assert "Shelf life of our own: 3 d" in succeed("product", "show", "Pastry cream", "--data", data)
    assert "the date mark of the limits in force. At closing." in succeed(*words, "--days", "0")
    assert "shelf_days" not in printed("product", "list", "--data", data)[0]
    assert "say what is changed" in refused(*words)
    assert "In use for 2 h at most." in succeed(*words, "--in-use", "2 h")
    assert "In use: 2 h at most" in succeed("product", "show", "Pastry cream", "--data", data)
    assert "no time in use" in refused(*words, "--in-use", "2 weeks")


def test_an_answer_in_a_file_is_of_whoever_took_the_file(data: Path, tmp_path: Path) -> None:
    """Nothing can be entered in another's name; what stood there before keeps its own."""
    _cream(data, "--answer", "egg=raw", "--by", "Ines Okafor")
    text = succeed("product", "show", "Pastry cream", "--file", "--data", data)
    text += '\n[[questions]]\nasked = "plain"\nwhy = "w"\n\n[questions.answer]\nsaid = "no"\nby = "Ines Okafor"\nat_ms = 1\n'
    (tmp_path / "cream.toml").write_text(text, encoding="utf-8")
    succeed("product", "set", tmp_path / "cream.toml", "--by", "Tomas Ek", "--data", data)
    (row,) = printed("product", "list", "--data", data)
    said = {each["asked"]: each["answer"]["by"] for each in row["questions"] if "answer" in each}
    assert said == {"egg": "Ines Okafor", "plain": "Tomas Ek"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("show", "Pasty cream"), "did you mean 'Pastry cream'"),
        (("take", "crumble"), "no starter is called 'crumble'"),
        (("take", "sponge", "--answer", "egg"), "write it as egg=pasteurised"),
        (("answer", "Pastry cream", "eggs", "raw"), "'eggs' is no question: use one of egg"),
        (("answer", "Pastry cream", "egg", "boiled"), "does not answer: Is the egg in it pasteurised"),
        (("answer", "Pastry cream", "plain", "yes"), "is not asked of Pastry cream"),
        (("step", "Pastry cream", "9", "--place", ""), "has no step 9: give one from 1 to 4"),
        (("step", "Pastry cream", "1"), "say what is changed of the step"),
        (("step", "Pastry cream", "1", "--hazard", " "), "hazard: is missing"),
        (("step", "Pastry cream", "1", "--place", "Walk-in 9"), "no unit is called 'Walk-in 9'"),
        (("retire", "Pastry cream", "--why", " "), "needs its reason"),
        (("set", "none.toml"), "cannot read product file none.toml"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(words: tuple[str, ...], told: str, data: Path) -> None:
    """And nothing is changed."""
    _cream(data)
    assert told in refused("product", *words, "--data", data)
    assert len(printed("product", "history", "Pastry cream", "--data", data)) == 1


# ---------------------------------------------------------------- a batch by the plan


def _started(data: Path, *words: object) -> dict[str, object]:
    """Start a batch, and return the facts of its start."""
    succeed("batch", "start", *words, "--data", data)
    store = open_store(store_url(data, None))
    with store.read() as session:
        facts: dict[str, object] = events(session, kinds=[EventKind.BATCH_STARTED])[-1].facts
    store.close()
    return facts


def test_a_batch_takes_from_the_plan_what_is_not_said(data: Path) -> None:
    """Steps, egg, place; and it says what has to be checked, and what is assumed until then."""
    succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
    _cream(data, "--answer", "egg=pasteurised", "--answer", "susceptible=no")
    succeed("product", "step", "Pastry cream", "3", "--place", "Walk-in 1", "--data", data)
    said = succeed("batch", "start", "--product", "pastry cream", "--lot", "L1", "--data", data)
    assert said.startswith("Pastry cream L1 is started. When it leaves the heat")
    assert "By the plan it stands in Walk-in 1" in said
    assert "To check: Which allergens are in your own recipe?" in said
    facts = _started(data, "--product", "pastry cream", "--lot", "L2")
    assert facts["processes"] == ["cook-eggs", "cooling"]
    assert facts["food"] == ["pasteurised-egg", "several-eggs"]
    assert (facts["usual_place"], facts["step"]) == ("Walk-in 1", "cook")


def test_what_the_command_says_wins_over_the_plan(data: Path) -> None:
    """Of each thing for itself."""
    succeed("product", "take", "sponge", "--answer", "plain=yes", "--data", data)
    _cream(data)
    facts = _started(data, "--product", "Sponge", "--lot", "S1", "--process", "cooling")
    assert facts["processes"] == ["cooling"]
    assert "not_tcs" not in facts
    facts = _started(data, "--product", "Pastry cream", "--lot", "L1", "--food", "no-egg", "--holding", "hot")
    assert facts["food"] == ["no-egg"]
    assert (facts["processes"], facts["holding"]) == (["cook-eggs", "hot-holding"], "hot")
    facts = _started(data, "--product", "Pastry cream", "--lot", "L2", "--not-tcs", "laboratory 7")
    assert facts["not_tcs"] == "laboratory 7"


def test_a_plain_sponge_is_asked_no_limit_and_says_why(data: Path) -> None:
    """The reason stands in the record; a cream of no plan is started as ever."""
    succeed("product", "take", "sponge", "--answer", "plain=yes", "--data", data)
    said = succeed("batch", "start", "--product", "Sponge", "--lot", "S1", "--data", data)
    assert "By the plan no limit is asked: A plain sponge" in said
    assert "Confirm this with your authority." in said
    facts = _started(data, "--product", "Tuna salad", "--lot", "T1")
    assert "plan" not in facts
    assert (facts["step"], facts["holding"]) == ("cool", "cold")


def test_a_product_with_open_questions_is_held_to_the_strictest(data: Path) -> None:
    """Raw egg, highly susceptible guests, TCS food."""
    succeed("product", "take", "sponge", "--data", data)
    _cream(data)
    facts = _started(data, "--product", "Pastry cream", "--lot", "L1")
    assert facts["food"] == ["raw-egg", "several-eggs", "susceptible"]
    facts = _started(data, "--product", "Sponge", "--lot", "S1")
    assert "not_tcs" not in facts
    assert facts["step"] == "cook"  # in which cooling is asked


@pytest.mark.pdf
def test_the_plan_is_printed(data: Path, tmp_path: Path) -> None:
    """Whole, or the procedure alone."""
    _cream(data)
    for more in ((), ("--procedure", "--paper", "a4"), ("--product", "pastry cream")):
        out = tmp_path / "plan.pdf"
        assert "is written" in succeed("plan", "print", "-o", out, "--data", data, *more)
        assert out.read_bytes().startswith(b"%PDF")
    said = refused("plan", "print", "--product", "Tart", "-o", out, "--data", data)
    assert "no product of the plan is called 'Tart'" in said


def test_a_starter_is_written_in_the_language_of_the_site_and_stays_so(data: Path) -> None:
    """The command line is English whatever the site speaks; what was kept is not translated again."""
    succeed("site", "--language", "es", "--data", data)
    assert "Crema pastelera is in the plan." in succeed("product", "take", "pastry-cream", "--data", data)
    succeed("site", "--language", "fr", "--data", data)
    assert [row["name"] for row in printed("product", "list", "--data", data)] == ["Crema pastelera"]
