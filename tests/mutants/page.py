"""Writes docs/mutation.md from the results and the explanations."""

from collections import defaultdict
from pathlib import Path

from tests.mutants.results import (
    AIM,
    LEAST_SCORE,
    MOST_UNEXPLAINED,
    Survivor,
    explanations,
    read,
    score,
    survivors,
    unexplained,
)

__all__ = ["text", "write"]

PAGE = Path("docs/mutation.md")

_INTRODUCTION = """\
# Mutation testing

Do the tests notice when the code that judges is wrong? A program puts small faults into it, one at a time: `<` for
`<=`, one more for a figure, `and` for `or`, the latest for the earliest, a loop that never turns. For each fault it
runs the tests that come by the line. A fault that no test notices is either a hole in the tests, which is closed, or
no fault at all, which is explained below, one by one. The aim is {aim:.0%} noticed and every survivor looked at; what
nobody has looked at yet is marked *not explained yet*.

```sh
make mutants         # the files that changed since their results
make mutants ALL=1   # every file
make mutants AGAIN=1 # only what survived, after new tests
```

`make test` fails when a file is not the one of its results, when the share falls below {least:.0%}, when more than
{most} survivors are not explained in `tests/mutants/survivors.toml`, and when this page does not say what the results
say. The two figures stand in `tests/mutants/results.py`: the first only rises, the second only falls.
This page is written by `make mutants`.

## How

The faults are those of [Cosmic Ray](https://cosmic-ray.readthedocs.io)'s operators for numbers, comparisons, boolean
words, conditions, arithmetic and loops, and two of our own where exact ends are decided: the side from which an array
of instants is searched, and the other end of a choice (`min` for `max`, `any` for `all`). Cosmic Ray's own way, a
file changed on disk and a new test run for each fault, would take a day; mutmut leaves out properties and constants,
where most of our figures stand. So a small runner (`tests/mutants/`) gathers the tests once, gives each fault a copy of
that process (fork), puts the fault into the loaded function, and runs the tests that come by its line, until one
fails. The tests are those in `tests/rules`, `tests/accidents`, `tests/assess` and of the invented code in
`tests/conformance`; of properties few examples are drawn, the same each time, and of tests with very many cases some.
A test that computes ten times as long as it should, and three seconds more, has noticed its fault: that is a
time-out. The work tree is not touched; everything happens in a copy.

Left out, because every test notices them and they would only sweeten the score: far-fetched arithmetic (a shift or a
power for a sum), `is` for `==`. Left out, because they judge nothing: decorators, annotations, sentences.
"""


def text(root: Path) -> str:
    """Return the page."""
    return "\n".join(
        [_INTRODUCTION.format(aim=AIM, least=LEAST_SCORE, most=MOST_UNEXPLAINED), *_table(root), *_survivors(root)]
    )


def write(root: Path) -> None:
    """Write the page."""
    (root / PAGE).write_text(text(root), encoding="utf-8")


def _table(root: Path) -> list[str]:
    found = read(root)
    lines = [
        "## Results",
        "",
        f"{score(found.values()):.1%} of the faults are noticed; {len(unexplained(root))} that survive are not explained yet.",
        "",
        "| File | Faults | Killed | Timed out | Survived | No tests | Noticed | Commit | Date |",
        "|---|--:|--:|--:|--:|--:|--:|---|---|",
    ]
    columns = ("killed", "timeout", "survived", "no tests")
    for file, one in found.items():
        counts = [one[column] for column in columns]
        lines.append(_row(f"`{file.removeprefix('holdwatch/')}`", counts, score([one]), one["commit"], one["date"]))
    total = [sum(one[column] for one in found.values()) for column in columns]
    lines += [_row("all", total, score(found.values()), "", ""), ""]
    return lines


def _row(name: str, counts: list[int], share: float, commit: str, date: str) -> str:
    return f"| {name} | {sum(counts)} | {' | '.join(str(n) for n in counts)} | {share:.1%} | {commit} | {date} |"


def _survivors(root: Path) -> list[str]:
    why = explanations(root)
    by_file: dict[str, dict[tuple[str, str], list[Survivor]]] = defaultdict(lambda: defaultdict(list))
    for one in survivors(root):
        by_file[one.file][one.where, why.get(one, "Not explained yet.")].append(one)
    lines = ["## What survives, and why it is no fault", ""]
    for file, groups in by_file.items():
        lines += [f"### `{file.removeprefix('holdwatch/')}`", ""]
        for (where, because), group in groups.items():
            for one in group:
                lines += ["```diff", f"- {one.before}", f"+ {one.after}", "```"]
            lines += [f"`{where}`: {because.strip()}", ""]
    return lines
