"""Rows of the log sheet as HTML. Every text from the store passes through `esc`: nothing in it can become markup."""

import re
from base64 import b64encode
from collections.abc import Sequence
from functools import lru_cache
from html import escape
from importlib.resources import files

from holdwatch.charts.marks import mark_svg
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.language import N_, _
from holdwatch.plan.telling import step_words
from holdwatch.views import words
from holdwatch.views.model import BatchView, FindingView, Mark, SiteView, UnitView

HOT = N_("Hot custard, syrup and sugar burn: dry gloves, a second pair of hands, a clear way.")
_MARKDOWN = re.compile(r"[\\`*_\[\]<>$~|]|:(?=[a-z])")
_TONE = {Mark.DEVIATION: "deviation", Mark.SOON: "soon"}


def esc(text: object) -> str:
    """Make text harmless inside HTML; a figure keeps its degrees on its line."""
    return escape(str(text), quote=True).replace(" °", "\u00a0°")


def plain(text: object) -> str:
    """Make text harmless inside a label or a message: there the library reads Markdown, with pictures, links and formulas."""
    return _MARKDOWN.sub(r"\\\g<0>", str(text))


def whole(text: object) -> str:
    """Return text that stays on one line, such as the number of a clause."""
    return f'<span style="white-space:nowrap">{esc(text)}</span>'


@lru_cache(maxsize=1)
def style() -> str:
    """Return the style sheet of all pages."""
    css = files("dashboards.parts").joinpath("sheet.css").read_text(encoding="utf-8")
    return f"<style>{css}</style>"


def _xml(svg: str) -> str:
    """Name the language of an SVG, which an image on its own must."""
    return svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)


def mark(of: Mark) -> str:
    """Return a mark as shape and word; colour only repeats what they say."""
    return f'{_mark_picture(mark_svg(of, 17))}<span class="hw-word {_TONE.get(of, "")}">{esc(of.said)}</span>'


@lru_cache(maxsize=128)
def _mark_picture(svg: str) -> str:
    """Return a mark, of which a page of a year has hundreds."""
    return picture(svg, css="hw-mark")


def picture(svg: str, said: str = "", css: str = "") -> str:
    """Return an SVG of ours as an image: a page takes no SVG inside its HTML, and nothing in an image can run."""
    coded = b64encode(_xml(svg).encode()).decode("ascii")
    return f'<img class="{css}" src="data:image/svg+xml;base64,{coded}" alt="{esc(said)}">'


def heading(text: str, level: int = 1) -> str:
    """Return a heading of the page, or of a part of it."""
    return f'<h{level} class="hw hw-h{level}">{esc(text)}</h{level}>'


def sentence(text: str) -> str:
    """Begin with a capital letter."""
    return f"{text[:1].upper()}{text[1:]}"


def line(text: str) -> str:
    """Return a line of the page."""
    return f'<div class="hw hw-line">{esc(text)}</div>'


def small_print(text: str) -> str:
    """Return a line in small print inside the page."""
    return f'<div class="hw hw-small">{esc(text)}</div>'


def quiet(text: str) -> str:
    """Return a line in small print."""
    return f'<div class="hw hw-quiet">{esc(text)}</div>'


def trouble(text: str) -> str:
    """Return something that a person should do, so that it is seen."""
    return f'<div class="hw hw-trouble" role="status">{esc(text)}</div>'


def said(text: str) -> str:
    """Return what has just been recorded."""
    return f'<div class="hw hw-said" role="status">{esc(text)}</div>'


def ask(text: str) -> str:
    """Return a question that the watch asks."""
    return f'<div class="hw hw-ask" role="status"><b>?</b> {esc(text)}</div>'


def time_left(due_ms: int | None, now_ms: int) -> tuple[str, str]:
    """Return the time left in large figures, and the words under it."""
    if due_ms is None:
        return "", ""
    left_ms = due_ms - now_ms
    return words.length(abs(left_ms)), _("left") if left_ms >= 0 else _("past")


def batch_row(
    batch: BatchView, site: SiteView, now_ms: int, *, small: bool, picture_html: str = "", linked: bool = True
) -> str:
    """Return one running batch: due time in the margin, name, what it is doing, its small curve, time left."""
    due, what = "", ""
    if batch.due_ms is not None:
        due = words.clock_time(batch.due_ms, site.zone)
        what = batch.due_what
        if abs(batch.due_ms - now_ms) > MS_PER_DAY:
            what = f"{words.day_words(batch.due_ms, site.zone)} · {what}"
    figure, under = time_left(batch.due_ms, now_ms)
    vessel = (
        _("vessel {vessel} of {vessels}").format(vessel=batch.due_vessel or 1, vessels=batch.vessels)
        if batch.vessels > 1
        else ""
    )
    facts = " · ".join(part for part in (step_words(batch.step), vessel, _last(batch, site)) if part)
    clauses = ", ".join(whole(clause) for clause in _clauses(batch))
    name = (
        f'<a class="hw-name" href="/batches?batch={batch.id}" target="_self">{esc(batch.title)}</a>' if linked else ""
    )
    wrong = batch.wrong
    word = "" if wrong is not None and wrong.mark is batch.mark else f"{mark(batch.mark)} · "  # it stands larger beside
    line = f'<div class="hw-line">{word}{esc(facts)}{f" · {clauses}" if clauses else ""}</div>'
    line += discard_line(batch, site)
    if batch.found_in_parts:
        found = batch.found_in_parts[0]
        line += f'<div class="hw-line">{mark(found.mark)} {_("in it: {title}").format(title=esc(found.title))}</div>'
    if batch.detained:
        line += f'<div class="hw-line"><b>{esc(batch.detained)}</b></div>'
    detail = "" if small else f'<div class="hw-line">{esc(batch.told or batch.forecast)}</div>'
    if wrong is not None:
        detail = _to_do(wrong, small=small, linked=linked)
        left = f"<b>{mark(wrong.mark)}</b><span>{esc(wrong.requires)}</span>"
    else:
        left = f"<b>{esc(figure)}</b><span>{esc(under)}</span>"
    return (
        f'<div class="hw hw-row{" small" if small else ""}{" wrong" if wrong else ""}">'
        f'<div class="hw-due"><b>{esc(due)}</b><span>{esc(what)}</span></div>'
        f"<div>{name}{line}{detail}</div>"
        f'<div class="hw-picture">{picture_html}</div>'
        f'<div class="hw-left">{left}</div></div>'
    )


def _to_do(wrong: FindingView, *, small: bool, linked: bool) -> str:
    """Return what to do now in large type, and why below it: no time to a next stage matters more."""
    first, _, rest = wrong.todo.partition(". ")
    do = f"{first}." if rest else first
    shown = f'<a href="/findings?finding={wrong.id}" target="_self">{esc(do)}</a>' if linked else esc(do)
    more = "" if small else f'<div class="hw-line">{esc(f"{rest} {sentence(wrong.reason)}".strip())}</div>'
    return f'<div class="hw-do">{shown}</div>{more}'


def discard_line(batch: BatchView, site: SiteView) -> str:
    """Return by when all of it is to be gone, and which clause says so; nothing where no time runs."""
    if not batch.discard:
        return ""
    first = batch.discard[0]
    said = _("discard by {time}").format(time=f"<b>{esc(first.words(site.zone))}</b>")
    return f'<div class="hw-line">{said} · {whole(_(first.clause))}</div>'


def _clauses(batch: BatchView) -> list[str]:
    """Return the clauses that the word for a batch rests on; while it runs, the one that is due next."""
    if batch.mark in {Mark.RUNNING, Mark.SOON}:
        return [batch.due_clause] if batch.due_clause else []
    held = (clause for curve in batch.curves for clause in curve.clauses if words.mark_of(clause.verdict) is batch.mark)
    return list(dict.fromkeys(clause.clause for clause in held))


def _last(batch: BatchView, site: SiteView) -> str:
    """Return the newest reading of the vessel that is due next, in words."""
    wanted = batch.due_vessel or 1
    curve = next((c for c in batch.curves if c.vessel == wanted), None) or next(iter(batch.curves), None)
    if curve is None or curve.last_c is None:
        return _("no reading yet")
    return words.temperature(curve.last_c, site.scale)


def unit_row(unit: UnitView, site: SiteView, now_ms: int, pictures: Sequence[str] = ()) -> str:
    """Return one unit: name and kind, mark, last readings and how old they are, and the traces of the last day."""
    lines = []
    for probe in unit.probes:
        if probe.last_c is None or probe.last_ms is None:
            lines.append(
                _("{probe} ({medium}): no reading yet").format(probe=probe.code, medium=words.medium(probe.medium))
            )
            continue
        age = max(0, now_ms - probe.last_ms)
        ago = _("now") if age < MS_PER_MINUTE else _("{length} ago").format(length=words.length(age))
        lines.append(
            f"{probe.code} ({words.medium(probe.medium)}): {words.temperature(probe.last_c, site.scale)}, {ago}"
        )
    body = "".join(f'<div class="hw-line">{esc(line)}</div>' for line in lines or [_("no probe placed here yet")])
    if unit.out_of_use:
        body = f'<div class="hw-line"><b>{esc(sentence(unit.out_of_use))}</b></div>{body}'
    if unit.warning:
        body = f"{trouble(unit.warning)}{body}"
    link = f"/units?unit={unit.id}"
    return (
        f'<div class="hw hw-unit"><div><a class="hw-name" href="{esc(link)}" target="_self">{esc(unit.name)}</a>'
        f'<div class="hw-line">{mark(unit.mark)} · {esc(words.kind_of_unit(unit.kind))}</div></div><div>{body}</div>'
        f'<div class="hw-picture">{"".join(pictures)}</div></div>'
    )


def table(heads: list[str], rows: list[list[str]], *, told: bool = False, row_heads: bool = False) -> str:
    """Return a ruled table; cells must already be HTML (use `esc`, `mark`).

    Parameters
    ----------
    told : whether every cell says its head where there is no room for the heads.
    row_heads : whether the first cell of a row is its head.
    """
    head = "".join(f"<th scope='col'>{esc(h)}</th>" for h in heads)
    head = f"<thead><tr>{head}</tr></thead>" if any(heads) else ""
    body = ""
    for row in rows:
        cells = [
            f'<td data-head="{esc(h)}">{cell}</td>' if told else f"<td>{cell}</td>"
            for h, cell in zip(heads, row, strict=True)
        ]
        if row_heads:
            cells[0] = f"<th scope='row'>{row[0]}</th>"
        body += f"<tr>{''.join(cells)}</tr>"
    return f'<table class="hw hw-table{" hw-told" if told else ""}">{head}<tbody>{body}</tbody></table>'
