"""The fixed words of papers: heads of tables, titles, what stands where there is nothing. Templates have none of their own.

A template reads them as ``words.limits.heads``; the facts of a paper carry them in the language that it is printed in.
"""

from typing import Any

from holdwatch.language import ENGLISH, N_, _, spoken

__all__ = ["BLANK", "LABEL", "PLAN", "RECORD", "fixed_words"]

Words = dict[str, Any]

_PAPER: Words = {"page": N_("page {number} of {count}")}
"""What every paper has on its pages."""


_OF_A_DAY = (
    *(N_("Probe"), N_("Verdict"), N_("Lowest"), N_("Mean"), N_("Highest"), N_("Readings"), N_("Longest gap")),
    N_("What the record shows"),
)
"""What is told of a probe's day in a unit."""


def _table(title: str, heads: tuple[str, ...], empty: str = "") -> Words:
    return {"title": title, "heads": heads, "empty": empty}


RECORD: Words = {
    **_PAPER,
    "summary": N_("Summary"),
    "units_title": N_("Units"),
    "batches_title": N_("Batches"),
    "findings_title": N_("Findings"),
    "trust": N_("How this paper can be checked"),
    "attention": _table(
        N_("What went wrong, what could not be shown, and what was done"),
        (N_("No."), N_("Since"), N_("Subject"), N_("Found"), N_("Limit and reason"), N_("Action recorded")),
    ),
    "limits": _table(
        N_("Limits in force"),
        (N_("Clause"), N_("Asks"), N_("Source"), N_("How it was read"), N_("Read on")),
        N_("The limits in force could not be read."),
    ),
    "probes": _table(
        N_("Probes"),
        (N_("Probe"), N_("Measures"), N_("Watched in this period"), N_("Last calibration check")),
        N_("No probe is registered."),
    ),
    "by_hand": _table("", (N_("Measured by hand at"), N_("Temperature"), N_("By"), N_("Written down"), N_("In words"))),
    "unit_days": _table(
        "",
        (N_("Day"), *_OF_A_DAY),
    ),
    "unit_lines": _table(
        N_("Units"),
        (N_("Unit"), *_OF_A_DAY),
        N_("No unit is registered."),
    ),
    "none": N_("none"),
    "clauses": _table("", (N_("Clause"), N_("Asks"), N_("Verdict"), N_("Clock began"), N_("Due"), N_("Reached"))),
    "placed": _table("", (N_("Vessel"), N_("Probe"), N_("From"), N_("To"), N_("By")), N_("No probe was in it.")),
    "discard": _table(
        "",
        (N_("Discard by"), N_("Clause"), N_("Why"), N_("Source")),
        N_("No discard time follows from what was declared of it."),
    ),
    "parts": _table(
        "",
        (N_("Part"), N_("Batch"), N_("Product"), N_("Started"), N_("State")),
        N_("No other batch is in it, and none of it went into another."),
    ),
    "declared": _table(
        "",
        (
            *(N_("At"), N_("Declared or measured by hand"), N_("Vessel"), N_("Temperature"), N_("By")),
            N_("Written down"),
        ),
        N_("Nothing was declared, and no hand reading was taken."),
    ),
    "batch_lines": _table(
        N_("Batches that ran"),
        (N_("Batch"), N_("Verdict"), N_("Vessel"), N_("Clause"), N_("Reached"), N_("What the record shows")),
        N_("No batch ran."),
    ),
    "versions": _table("", (N_("Written"), N_("As"), N_("Why"))),
    "alerts": _table(
        "",
        (N_("Alert to"), N_("Said"), N_("State"), N_("Detail")),
        N_("No alert was sent: nobody was to be told."),
    ),
    "actions": _table("", (N_("Action at"), N_("What was done"), N_("By")), N_("No action is recorded.")),
    "gaps": _table(
        N_("Gaps: stretches without readings"), (N_("Subject"), N_("Probe"), N_("From"), N_("To"), N_("Length"))
    ),
    "visits": _table(
        N_("Visits of an officer"),
        (N_("At"), N_("Who"), N_("Readings, samples, notice, food detained"), N_("By")),
        N_("No visit of an officer was recorded in this period."),
    ),
    "deliveries": _table(
        N_("Deliveries"),
        (
            *(N_("At"), N_("What, and from whom"), N_("Measured"), N_("Verdict"), N_("Clause"), N_("Became")),
            N_("By"),
        ),
        N_("No delivery was recorded in this period."),
    ),
    "round": _table(
        N_("Opening and closing"),
        (N_("At"), N_("Entry"), N_("What stood on it"), N_("By")),
        N_("No opening and no closing was recorded as gone through in this period."),
    ),
    "checks": _table(
        N_("Calibration checks"),
        (N_("Probe"), N_("At"), N_("It showed, raw"), N_("Found and done"), N_("By")),
        N_("No probe was checked in this period."),
    ),
    "due": _table(
        N_("When each probe is due"),
        (N_("Probe"), N_("Measures"), N_("Last check"), N_("Found"), N_("Next due")),
        N_("No probe is registered."),
    ),
    "reviews": _table(
        N_("Verification by the manager"),
        (N_("Days"), N_("Gone over at"), N_("By"), N_("Since"), N_("In words")),
        N_("Nobody has gone over a day of this period on a screen."),
    ),
    "sign": (N_("Name"), N_("Signature"), N_("Date and time")),
}
"""Papers of the record."""

BLANK: Words = {
    **_PAPER,
    "asked": _table(
        N_("What is asked"),
        (N_("Of"), N_("Asks"), N_("Clause"), N_("Source")),
        N_("The limits in force could not be read."),
    ),
    "lines": (
        N_("Time"),
        N_("Unit, or batch and vessel"),
        N_("Temperature"),
        N_("Initials"),
        N_("What was done"),
    ),
    "date": N_("Date"),
    "thermometer": N_("Thermometer"),
    "typed_in": N_("Typed in later by, and when:"),
}
"""The sheet that is written by hand."""

PLAN: Words = {
    **_PAPER,
    "products": _table(
        N_("Products"),
        (N_("Product"), N_("Temperature control"), N_("Allergens"), N_("Still to be checked")),
        N_("The plan has no product yet."),
    ),
    "questions": _table(N_("Checked before it is used"), (N_("Question"), N_("Answer"), N_("By, and when"))),
    "steps": N_("Steps"),
    "procedures": _table(
        N_("Time as a public health control: written procedure"),
        (),
        N_("No product of the plan uses time in place of temperature."),
    ),
    "sign": (N_("Name"), N_("Signature"), N_("Date")),
}
"""The written plan."""

LABEL: Words = {
    "discard_by": N_("DISCARD BY"),
    "made": N_("Made"),
    "by": N_("By"),
    "contains": N_("Contains:"),
    "not_declared": N_("Allergens not declared:"),
    "allergens": N_("Allergens:"),
    "cool": N_("Ice bath, shallow pans, stir. Look at the time."),
    "door": N_("Put something in? Scan this, or write:"),
}
"""Labels, cooling tags and signs of doors."""


def fixed_words(words: Words) -> dict[str, Any]:
    """Return the facts that carry fixed words to a template, in the language that is spoken, and that language."""
    return {"language": spoken(), "region": "US" if spoken() == ENGLISH else None, "words": _said(words)}


def _said(words: Any) -> Any:
    if isinstance(words, str):
        return _(words)
    if isinstance(words, dict):
        return {key: _said(each) for key, each in words.items()}
    return [_said(each) for each in words]
