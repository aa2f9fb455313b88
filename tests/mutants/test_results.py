"""The results of mutation testing are of the files as they are, no worse than before, and so are its survivors."""

from pathlib import Path

from tests.mutants import page, results

ROOT = Path(__file__).parents[2]


def test_results_are_of_the_files_as_they_are() -> None:
    """A file that changed is tried again: ``make mutants``."""
    stale = results.stale(ROOT)
    assert not stale, f"run `make mutants`: {', '.join(stale)}"
    assert set(results.read(ROOT)) == set(results.files_of(ROOT))


def test_results_notice_as_many_of_the_faults_as_before() -> None:
    """Of all files together; a fault that no test comes by counts as not noticed."""
    found = results.read(ROOT)
    assert sum(one[word] for one in found.values() for word in results.COUNTED) > 1000
    assert results.score(found.values()) >= results.LEAST_SCORE


def test_no_more_survivors_wait_to_be_looked_at_than_before() -> None:
    """Each is closed with a test, or explained in survivors.toml, one by one; the number only falls."""
    missing = results.unexplained(ROOT)
    assert len(missing) <= results.MOST_UNEXPLAINED, (
        f"close the hole with a test, or explain in {results.EXPLAINED}: {missing}"
    )


def test_page_says_what_the_results_say() -> None:
    """It is written by ``make mutants``."""
    assert (ROOT / page.PAGE).read_text(encoding="utf-8") == page.text(ROOT)
