"""What screens and papers say: one table of words, written so that a cook understands them."""

from holdwatch.alerts.message import CAUTION
from holdwatch.charts.curves import FanView
from holdwatch.charts.localtime import clock_time, clock_words, day_words, local, span_words, zone_words
from holdwatch.charts.marks import COLOURS, SHAPES, Mark, mark_of, mark_svg
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.quantities import Scale, format_temperature
from holdwatch.storage.tables import EventKind, Finding, FindingKind

__all__ = [
    "CAUTION",
    "COLOURS",
    "SHAPES",
    "Mark",
    "age",
    "both_scales",
    "clock_time",
    "clock_words",
    "cook_sentence",
    "day_words",
    "event_words",
    "forecast_words",
    "length",
    "level",
    "local_day",
    "mark_of",
    "mark_of_finding",
    "mark_svg",
    "span_words",
    "temperature",
    "time_left",
    "when",
    "zone_words",
]

_DECIDE = "Keep it apart until the person in charge has decided."
_HAND = "Take its temperature with a clean hand thermometer and note it."

_FINDING_MARKS = {
    FindingKind.SOON: Mark.SOON,
    FindingKind.DEVIATION: Mark.DEVIATION,
    FindingKind.NOT_SHOWN: Mark.NOT_SHOWN,
    FindingKind.SYSTEM: Mark.NOT_SHOWN,
}

_EVENTS = {
    EventKind.SITE_SET: "site set",
    EventKind.LIMITS_CONFIRMED: "limits confirmed with the authority",
    EventKind.UNIT_ADDED: "unit added",
    EventKind.UNIT_LAG: "lag of the food in the unit set",
    EventKind.UNIT_EGGS: "shell eggs in the unit",
    EventKind.CALIBRATED: "probe checked at a known temperature",
    EventKind.DAYS_REVIEWED: "days reviewed",
    EventKind.KEEPING_SET: "how long it is kept",
    EventKind.THINNED: "readings thinned",
    EventKind.PROBE_ADDED: "probe added",
    EventKind.CONTACT_ADDED: "contact added",
    EventKind.CONTACT_ROUTED: "who is told when was set",
    EventKind.PERSON_ADDED: "person added",
    EventKind.PERSON_CHANGED: "person changed",
    EventKind.PRODUCT_SET: "product set in the plan",
    EventKind.PRODUCT_RETIRED: "product taken out of the plan",
    EventKind.BATCH_STARTED: "batch started",
    EventKind.PROBE_PLACED: "probe placed",
    EventKind.PROBE_TAKEN_OUT: "probe taken out",
    EventKind.LEFT_HEAT: "left the heat",
    EventKind.PREPARED: "prepared",
    EventKind.MOVED: "moved",
    EventKind.REMOVED: "taken out of temperature control",
    EventKind.RETURNED: "returned to temperature control",
    EventKind.REHEATING: "reheating begun",
    EventKind.FROZEN: "frozen",
    EventKind.THAWED: "thawed",
    EventKind.OPENED: "container opened",
    EventKind.RECEIVED: "received",
    EventKind.ADDED: "food of another batch added",
    EventKind.PARTED: "part put into another batch",
    EventKind.HANDED_OVER: "handed over",
    EventKind.READ_BACK: "read from a logger’s file",
    EventKind.ALLERGENS: "allergens declared",
    EventKind.IN_USE: "in use",
    EventKind.ENDED: "ended",
    EventKind.READING: "reading by hand",
    EventKind.STEP: "step",
    EventKind.PROBE_IN_FOOD: "the probe is in the food",
    EventKind.PROBE_OUT_OF_FOOD: "the probe was out of the food",
    EventKind.NOTE: "note",
    EventKind.ACTION: "corrective action",
    EventKind.SEEN: "seen",
    EventKind.CHECKED: "promised check",
    EventKind.MISTAKEN: "found to be mistaken",
    EventKind.VERIFIED: "verified",
    EventKind.REOPENED: "opened again",
    EventKind.CORRECTION: "correction",
    EventKind.CLOSING: "closing gone through",
    EventKind.OPENING: "opening gone through",
    EventKind.ALONE: "works alone",
    EventKind.NOT_ALONE: "works alone no more",
    EventKind.LONE_REVIEWED: "what was done alone is reviewed",
    EventKind.VISITED: "an officer's visit",
    EventKind.OFFICER_READING: "reading by an officer",
    EventKind.DETAINED: "detained",
    EventKind.RELEASED: "released",
    EventKind.DELIVERED: "delivered",
    EventKind.OUT_OF_USE: "out of use",
    EventKind.BACK_IN_USE: "back in use",
    EventKind.NOTHING_COOLED: "nothing was cooled",
}


def temperature(celsius: float, scale: Scale) -> str:
    """Write a reading, as in ``39.4 °F``: a narrow space before the unit, a real minus."""
    return format_temperature(celsius, scale)


def level(celsius: float, scale: Scale) -> str:
    """Write a published level without decimals where it has none in this unit, as in ``70 °F`` or ``21.1 °C``."""
    return format_temperature(celsius, scale).replace(".0\u202f", "\u202f")


def both_scales(celsius: float, scale: Scale) -> str:
    """Write a reading in the site's unit with the other one behind it."""
    other = Scale.C if scale is Scale.F else Scale.F
    return f"{format_temperature(celsius, scale)} ({format_temperature(celsius, other)})"


def length(length_ms: int) -> str:
    """Write a length of time in whole minutes, as in ``25 min`` or ``1 h 40 min``; days from two on."""
    minutes = abs(length_ms) // MS_PER_MINUTE
    if abs(length_ms) >= 2 * MS_PER_DAY:
        return f"{abs(length_ms) // MS_PER_DAY} days"
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def time_left(due_ms: int, now_ms: int) -> str:
    """Write how long is left, rounded down, or how long ago it was due."""
    left = due_ms - now_ms
    if left < 0:
        return f"{length(left)} over" if left <= -MS_PER_MINUTE else "due now"
    return length(left) if left >= MS_PER_MINUTE else "less than 1 min"


def age(at_ms: int, now_ms: int) -> str:
    """Write how old something is, as in ``3 min ago``."""
    gone = now_ms - at_ms
    if gone < -MS_PER_MINUTE:
        return f"{length(gone)} ahead of the clock"
    return f"{length(gone)} ago" if gone >= MS_PER_MINUTE else "just now"


def when(at_ms: int, zone: str, now_ms: int) -> str:
    """Write an instant in local time: the time alone today, else with its day."""
    if local_day(at_ms, zone) == local_day(now_ms, zone):
        return clock_time(at_ms, zone)
    return f"{day_words(at_ms, zone)} {clock_time(at_ms, zone)}"


def local_day(at_ms: int, zone: str) -> str:
    """Return the site's local day of an instant, ISO 8601."""
    return local(at_ms, zone).date().isoformat()


def mark_of_finding(finding: Finding) -> Mark:
    """Return the screen word of a finding."""
    return _FINDING_MARKS[FindingKind(finding.kind)]


def event_words(kind: str) -> str:
    """Say what was done or declared."""
    return _EVENTS.get(EventKind(kind), kind)


def forecast_words(fan: FanView, due_ms: int | None, zone: str, scale: Scale) -> str:
    """Say a forecast, as in ``at 70 °F about 14:05, limit 14:32``."""
    wanted = level(fan.target_c, scale)
    limit = f", limit {clock_time(due_ms, zone)}" if due_ms is not None else ""
    if fan.reaches is None:
        return f"no forecast for {wanted} yet: {fan.reason}"
    if not fan.reaches or fan.expected_ms is None:
        return f"will not get to {wanted} as things stand{limit}"
    return f"at {wanted} about {clock_time(fan.expected_ms, zone)}{limit}"


def cook_sentence(
    name: str,
    mark: Mark,
    *,
    now_ms: int,
    due_ms: int | None = None,
    task: str = "",
    cools: bool = True,
    reason: str = "",
    asks: tuple[str, ...] = (),
    forecast: str = "",
) -> str:
    """Tell a cook how a vessel stands and what to do next; `task` is what is to be done by the due instant.

    Without a `name` it stands beside its name and its word, which are not said twice.
    """
    if asks:
        return f"{name}: {asks[0]}" if name else asks[0]
    lead = f"{name}: {mark.value}. " if name else ""
    if mark is Mark.DEVIATION:
        return f"{lead}{reason} {_DECIDE}".replace("  ", " ").strip()
    if mark is Mark.NOT_SHOWN:
        return f"{lead}{reason} {_HAND}".replace("  ", " ").strip()
    if due_ms is None or mark not in {Mark.SOON, Mark.RUNNING}:
        return f"{lead}{reason}".strip()
    return _still_due(name or "It", mark if cools else Mark.RUNNING, now_ms, due_ms, task, forecast)


def _still_due(name: str, mark: Mark, now_ms: int, due_ms: int, task: str, forecast: str) -> str:
    if now_ms > due_ms:
        return f"{name} was to {task} {length(now_ms - due_ms)} ago; its answer is on its way."
    said = f"{name} has {time_left(due_ms, now_ms)} to {task}."
    if mark is Mark.SOON:
        return f"{said} At this rate it will miss. Move it to an ice bath or split it into shallow pans."
    return f"{said} As it cools now: {forecast}." if forecast.startswith("at ") else said
