"""A product as data, read and written: in a starter's file, in the store, in a file of one's own."""

from collections.abc import Callable
from typing import Any, TypeVar

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.limits.table import Table
from holdwatch.limits.telling import NAMES
from holdwatch.plan.allergens import Contains, read_contains
from holdwatch.plan.in_use import in_use_ms
from holdwatch.plan.model import Answer, Asked, PlanStep, Product, Question, Tcs
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.verdicts import Step

__all__ = ["product_data", "product_of"]

_Read = TypeVar("_Read")


def product_of(table: Table) -> Product:
    """Read a product, and refuse what is missing, unknown or cannot be.

    Raises
    ------
    ConfigError
        If it breaks the schema: it names the file, the key and what to do.
    """
    product = Product(
        name=table.text("name"),
        about=table.text("about"),
        tcs=table.choice("tcs", Tcs),
        tcs_reason=table.text("tcs_reason"),
        contains=_contains(table),
        questions=tuple(_question(each) for each in table.tables("questions")) if table.has("questions") else (),
        steps=tuple(_step(each) for each in table.tables("steps")),
        made=frozenset(table.choices("made", Food)) if table.has("made") else frozenset(),
        discard=_words(table, "discard"),
        shelf_days=table.count("shelf_days") if table.has("shelf_days") else None,
        in_use=_in_use(table),
        starter=_words(table, "starter"),
    )
    table.done()
    _check(table, product)
    return product


def product_data(product: Product) -> dict[str, Any]:
    """Return a product as plain data, such as `product_of` reads; what is empty is left out."""
    data: dict[str, Any] = {
        "name": product.name,
        "about": product.about,
        "tcs": product.tcs.value,
        "tcs_reason": product.tcs_reason,
        "contains": [str(each) for each in product.contains],
        "made": sorted(fact.value for fact in product.made),
        "discard": product.discard,
        "shelf_days": product.shelf_days,
        "in_use": product.in_use,
        "starter": product.starter,
        "questions": [_question_data(each) for each in product.questions],
        "steps": [_step_data(each) for each in product.steps],
    }
    return {key: value for key, value in data.items() if value not in ("", None, [])}


def _check(table: Table, product: Product) -> None:
    """Refuse what no key shows alone."""
    asked = [each.asked for each in product.questions]
    twice = next((each for each in asked if asked.count(each) > 1), None)
    if twice is not None:
        raise table.fail("questions", _("{asked} is asked twice: ask it once").format(asked=twice.value))
    if Asked.ALLERGENS not in asked:
        raise table.fail("questions", _("allergens is missing: they are confirmed against one's own recipe"))
    if product.tcs is Tcs.NO and Asked.PLAIN not in asked:
        said = _("plain is missing: what is no TCS food by its kind is so only when it is plain")
        raise table.fail("questions", said)


def _in_use(table: Table) -> str:
    words = _words(table, "in_use").strip()
    if words:
        _read(table, "in_use", lambda: in_use_ms(words))
    return words


def _contains(table: Table) -> tuple[Contains, ...]:
    if not table.has("contains"):
        return ()
    return _read(table, "contains", lambda: read_contains(", ".join(table.texts("contains"))))


def _question(table: Table) -> Question:
    answer = None
    if table.has("answer"):
        inner = table.table("answer")
        answer = Answer(inner.text("said"), inner.text("by"), inner.count("at_ms"))
        inner.done()
    question = Question(table.choice("asked", Asked), table.text("why"), answer)
    table.done()
    return question


def _question_data(question: Question) -> dict[str, Any]:
    data: dict[str, Any] = {"asked": question.asked.value, "why": question.why}
    if question.answer is not None:
        data["answer"] = {"said": question.answer.said, "by": question.answer.by, "at_ms": question.answer.at_ms}
    return data


def _step(table: Table) -> PlanStep:
    processes = table.texts("processes") if table.has("processes") else ()
    for process in processes:
        if process not in NAMES:
            said = _("{process!r} is no part of a limits file: use some of {known}")
            raise table.fail("processes", said.format(process=process, known=", ".join(NAMES)))
    critical = table.flag("critical", default=False)
    if critical and not processes:
        raise table.fail("critical", _("a critical step needs a limit: name it in processes"))
    step = PlanStep(
        step=table.choice("step", Step),
        name=table.text("name"),
        hazard=table.text("hazard"),
        critical=critical,
        why_critical=table.text("why_critical"),
        processes=processes,
        watched=table.text("watched"),
        how_often=table.text("how_often"),
        action=table.text("action"),
        verified_by=table.text("verified_by"),
        record=table.text("record"),
        place=_words(table, "place"),
        in_time=_words(table, "in_time"),
    )
    table.done()
    return step


def _step_data(step: PlanStep) -> dict[str, Any]:
    data: dict[str, Any] = {
        "step": step.step.value,
        "name": step.name,
        "hazard": step.hazard,
        "critical": step.critical,
        "why_critical": step.why_critical,
        "processes": list(step.processes),
        "watched": step.watched,
        "how_often": step.how_often,
        "in_time": step.in_time,
        "action": step.action,
        "verified_by": step.verified_by,
        "record": step.record,
        "place": step.place,
    }
    return {key: value for key, value in data.items() if value not in ("", [])}


def _words(table: Table, key: str) -> str:
    return table.text(key) if table.has(key) else ""


def _read(table: Table, key: str, read: Callable[[], _Read]) -> _Read:
    """Read a key, and name it where it cannot be used."""
    try:
        return read()
    except ConfigError as exc:
        raise table.fail(key, str(exc)) from exc
