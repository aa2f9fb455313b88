"""The written plan on paper: the products in force, their steps, and the procedures for time as a control."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlmodel import Session

from holdwatch import clock
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, explained
from holdwatch.limits import Limits
from holdwatch.limits.telling import NAMES
from holdwatch.plan.allergens import told, told_us
from holdwatch.plan.control import need_of
from holdwatch.plan.model import ABOUT, Asked, PlanStep, Product
from holdwatch.plan.procedure import procedures
from holdwatch.plan.telling import PRINCIPLES, TCS_WORDS, step_rows, step_words
from holdwatch.records.fixed_words import PLAN, fixed_words
from holdwatch.records.front import foot
from holdwatch.records.setting import speaking_of_site
from holdwatch.records.span import Span
from holdwatch.records.times import Times, printed_when
from holdwatch.records.trust_lines import standing
from holdwatch.records.typeset import typeset
from holdwatch.records.write import whole_file
from holdwatch.storage.engine import Store
from holdwatch.storage.products import product_history, product_named, products_in_force
from holdwatch.storage.register import site_at
from holdwatch.views.limits import Governing, governing

__all__ = ["PAPERS", "Wanted", "plan_pdf", "print_plan"]

PAPERS = {"a4": "a4", "letter": "us-letter"}
_LIMIT = PRINCIPLES.index("Critical limit")  # the row that is set in bold
_INTRODUCTION = (
    N_(
        "This plan follows the seven principles of Codex CXC 1-1969, General Principles of Food Hygiene: hazard analysis, critical control points, critical limits, monitoring, corrective action, verification and records, which stand as rows of each step."
    ),
    N_(
        "It holds no figure of its own: critical limits are those of the limits in force that are named above. What is still to be checked of a product is taken as its strictest answer until then."
    ),
)
_PROCEDURE = N_(
    "Prepared in advance and kept on site, to be shown on request, as FDA Food Code 3-501.19(A) asks wherever time is used in place of temperature. Other codes ask for less or more; your authority decides."
)


@dataclass(frozen=True)
class Wanted:
    """What is to be printed."""

    product: str = ""
    """One product alone; empty for the whole plan."""
    only_procedures: bool = False
    paper: str = "letter"
    """``a4`` or ``letter``."""
    by: str = ""
    """Who prints it."""


def print_plan(store: Store, out: Path, wanted: Wanted, *, at_ms: int | None = None, now_ms: int | None = None) -> None:
    """Print the plan as it was at an instant to the PDF `out`.

    Parameters
    ----------
    at_ms : of which instant the plan is; the instant of printing if not given. [ms]
    now_ms : the instant of printing; the present if not given. The same plan printed at the same instant gives the
        same bytes. [ms]

    Raises
    ------
    ConfigError
        If the paper is unknown, the site is not set, or `out` cannot be written.
    UnknownNameError
        If the plan has no product of the name wanted.
    """
    pdf = plan_pdf(store, wanted, at_ms=at_ms, now_ms=now_ms)
    with whole_file(out) as file:
        file.write(pdf)


def plan_pdf(store: Store, wanted: Wanted, *, at_ms: int | None = None, now_ms: int | None = None) -> bytes:
    """Return the plan as a PDF; see `print_plan`."""
    if wanted.paper not in PAPERS:
        raise ConfigError(_("there is no paper called {paper!r}: use a4 or letter").format(paper=wanted.paper))
    now_ms = clock.now_ms() if now_ms is None else now_ms
    with speaking_of_site(store, now_ms), store.read() as session:
        sheet = _gather(session, wanted, now_ms if at_ms is None else at_ms, now_ms)
    return typeset(sheet, now_ms, pages=("paper.typ", "plan.typ"))


def _gather(session: Session, wanted: Wanted, at_ms: int, now_ms: int) -> dict[str, Any]:
    site = site_at(session, at_ms)
    found = governing(session, site)
    times = Times(site.timezone, Span(at_ms, now_ms))
    products = (product_named(session, wanted.product, at_ms),) if wanted.product else products_in_force(session, at_ms)
    kind = _("written procedure") if wanted.only_procedures else _("written plan")
    when = printed_when(times.whole(now_ms), wanted.by)
    record = standing(session)
    whole = () if wanted.only_procedures else products
    return {
        "paper": PAPERS[wanted.paper],
        **fixed_words(PLAN),
        "document_title": f"{kind.capitalize()}, {site.name}, {times.days()}",
        "heading": _("Time as a public health control") if wanted.only_procedures else _("The written plan"),
        "caution": foot([found]),
        "head": {
            "site": site.name,
            "kind": kind,
            "period_short": times.days(),
            "printed": _("Printed {when}").format(when=when),
            "record": record.small(),
            "facts": [*_facts(found, times, at_ms, when), *record.rows()[:1]],
        },
        "introduction": [] if wanted.only_procedures else list(map(_, _INTRODUCTION)),
        "only_procedures": wanted.only_procedures,
        "list": [_row(product) for product in whole],
        "products": [_product(session, product, found.limits, times, at_ms) for product in whole],
        "procedures": [each for product in products for each in _procedures(product, found.limits)],
        "procedure_note": _(_PROCEDURE),
        "sign": _("This written procedure was read and approved by:")
        if wanted.only_procedures
        else _("This written plan was read and approved by:"),
    }


def _facts(found: Governing, times: Times, at_ms: int, when: str) -> list[list[str]]:
    return [
        [_("Premises"), found.site.name],
        [_("Plan of"), times.whole(at_ms)],
        [
            _("Limits in force"),
            _("{limits}, text {version}; {confirmed}").format(
                limits=found.name, version=found.version, confirmed=found.confirmed
            ),
        ],
        [_("Inspected by"), found.site.authority or _("nobody said")],
        [_("Printed"), when],
    ]


def _row(product: Product) -> list[str]:
    open_ones = ", ".join(_(ABOUT[each.asked]) for each in product.unanswered)
    return [product.name, _(TCS_WORDS[need_of(product).tcs.value]), told(product.contains), open_ones or _("nothing")]


def _product(session: Session, product: Product, limits: Limits, times: Times, at_ms: int) -> dict[str, Any]:
    need = need_of(product)
    confirmed = (
        "" if all(each.asked is not Asked.ALLERGENS for each in product.unanswered) else f" ({_('not confirmed')})"
    )
    facts = [
        [_("What it is"), product.about],
        [_("Temperature control"), f"{_capital(_(TCS_WORDS[need.tcs.value]))}. {need.reason}"],
        [_("Allergens"), f"{told(product.contains)}{confirmed}"],
        [_("In the United States"), f"{told_us(product.contains)}{confirmed}"],
        [
            _("Own shelf life"),
            _("{days} d, the day of preparation being day 1").format(days=product.shelf_days)
            if product.shelf_days
            else "",
        ],
        [
            _("In use"),
            _("{length} at most: a piping bag, a garnish tub, a tray").format(length=product.in_use)
            if product.in_use
            else "",
        ],
        [_("Discard"), product.discard],
    ]
    versions = [each for each in product_history(session, product.name) if each.from_ms <= at_ms]
    latest = versions[-1]
    count = _("version {number}").format(number=len(versions)) if len(versions) > 1 else _("the first version")
    return {
        "name": product.name,
        "facts": [fact for fact in facts if fact[1]],
        "questions": [_question(_(each.ask), each.answer, times) for each in product.questions],
        "steps": [_step(step, number, limits) for number, step in enumerate(product.steps, 1)],
        "history": _("In force since {time}: {version}, by {person} ({why}).").format(
            time=times.whole(latest.from_ms), version=count, person=latest.by, why=latest.why
        ),
    }


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _question(ask: str, answer: Any, times: Times) -> list[str]:
    if answer is None:
        return [ask, _("to be checked"), "–"]
    return [ask, _(answer.said), f"{answer.by}, {times.whole(answer.at_ms)}"]


def _step(step: PlanStep, number: int, limits: Limits) -> dict[str, Any]:
    rows = [[name, words, index == _LIMIT] for index, (name, words) in enumerate(step_rows(step, limits))]
    where = step_words(step.step)
    if step.place:
        where = _("{step}, usually in {place}").format(step=where, place=step.place)
    return {"name": f"{number}. {step.name}", "where": where, "rows": rows}


def _procedures(product: Product, limits: Limits) -> list[dict[str, Any]]:
    return [
        {
            "name": explained(each.product, _(NAMES[each.part]).lower()),
            "where": each.clause,
            "rows": [[_(name), words, name == "Limit"] for name, words in each.rows],
        }
        for each in procedures(product, limits)
    ]
