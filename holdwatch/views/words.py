"""What screens and papers say: one table of words, written so that a cook understands them."""

from holdwatch.alerts.message import CAUTION
from holdwatch.charts.curves import FanView
from holdwatch.charts.marks import COLOURS, SHAPES, Mark, mark_of, mark_svg
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE, clock_time, clock_words, day_words, local, span_words, zone_words
from holdwatch.language import N_, _, decimals, many
from holdwatch.quantities import Scale, format_temperature
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.tables import EventKind, Finding, FindingKind

__all__ = [
    "CAUTION",
    "COLOURS",
    "OUTCOMES",
    "SHAPES",
    "VALUES",
    "Mark",
    "age",
    "both_scales",
    "clock_time",
    "clock_words",
    "cook_sentence",
    "day_words",
    "event_words",
    "forecast_words",
    "kind_of_unit",
    "length",
    "level",
    "local_day",
    "mark_of",
    "mark_of_finding",
    "mark_svg",
    "medium",
    "outcome_words",
    "span_words",
    "temperature",
    "time_left",
    "version_words",
    "when",
    "zone_words",
]

_DECIDE = N_("Keep it apart until the person in charge has decided.")
_HAND = N_("Take its temperature with a clean hand thermometer and note it.")

_FINDING_MARKS = {
    FindingKind.SOON: Mark.SOON,
    FindingKind.DEVIATION: Mark.DEVIATION,
    FindingKind.NOT_SHOWN: Mark.NOT_SHOWN,
    FindingKind.SYSTEM: Mark.NOT_SHOWN,
}

_FINDING_KINDS = {
    FindingKind.SOON: N_("soon"),
    FindingKind.DEVIATION: N_("deviation"),
    FindingKind.NOT_SHOWN: N_("not shown"),
    FindingKind.SYSTEM: N_("fault of the system"),
}

_KINDS_OF_UNIT = {
    "walk-in": N_("walk-in"),
    "reach-in": N_("reach-in"),
    "display-case": N_("display case"),
    "freezer": N_("freezer"),
    "hot-cabinet": N_("hot cabinet"),
    "blast-chiller": N_("blast chiller"),
    "ice-bath": N_("ice bath"),
    "room": N_("room"),
    "van": N_("van"),
    "insulated-box": N_("insulated box"),
}
VALUES = (
    *(N_("cook"), N_("cool"), N_("assemble"), N_("store"), N_("display"), N_("serve")),
    *(N_("empty"), N_("cleaned"), N_("defrosted"), N_("closed"), N_("repaired")),
    *(N_("waiting"), N_("sent"), N_("undelivered"), N_("replaced"), N_("not-needed")),
    *(N_("running"), N_("stopped"), N_("trouble"), N_("not heard"), N_("starting")),
    *(N_("not-shown"), N_("system"), N_("met"), N_("missed"), N_("unproven"), N_("none")),
    *(N_("corrected"), N_("adjusted"), N_("out of use"), N_("opening"), N_("closing")),
    *(N_("malformed"), N_("implausible instant"), N_("unknown probe"), N_("readings"), N_("records")),
)
"""Words of data that are shown as they are kept, and looked up where they are shown."""
OUTCOMES = {
    "served": N_("served"),
    "sold": N_("sold"),
    "used": N_("used in another batch"),
    "frozen": N_("frozen"),
    "discarded": N_("discarded"),
}
"""How a batch ends."""
_MEDIA = {"food": N_("food"), "air": N_("air"), "product": N_("simulated product")}

_EVENTS = {
    EventKind.SITE_SET: N_("site set"),
    EventKind.LIMITS_CONFIRMED: N_("limits confirmed with the authority"),
    EventKind.UNIT_ADDED: N_("unit added"),
    EventKind.UNIT_LAG: N_("lag of the food in the unit set"),
    EventKind.UNIT_EGGS: N_("shell eggs in the unit"),
    EventKind.CALIBRATED: N_("probe checked at a known temperature"),
    EventKind.DAYS_REVIEWED: N_("days reviewed"),
    EventKind.KEEPING_SET: N_("how long it is kept"),
    EventKind.THINNED: N_("readings thinned"),
    EventKind.PROBE_ADDED: N_("probe added"),
    EventKind.CONTACT_ADDED: N_("contact added"),
    EventKind.CONTACT_ROUTED: N_("who is told when was set"),
    EventKind.PERSON_ADDED: N_("person added"),
    EventKind.PERSON_CHANGED: N_("person changed"),
    EventKind.PRODUCT_SET: N_("product set in the plan"),
    EventKind.PRODUCT_RETIRED: N_("product taken out of the plan"),
    EventKind.BATCH_STARTED: N_("batch started"),
    EventKind.PROBE_PLACED: N_("probe placed"),
    EventKind.PROBE_TAKEN_OUT: N_("probe taken out"),
    EventKind.LEFT_HEAT: N_("left the heat"),
    EventKind.PREPARED: N_("prepared"),
    EventKind.MOVED: N_("moved"),
    EventKind.REMOVED: N_("taken out of temperature control"),
    EventKind.RETURNED: N_("returned to temperature control"),
    EventKind.REHEATING: N_("reheating begun"),
    EventKind.FROZEN: N_("frozen"),
    EventKind.THAWED: N_("thawed"),
    EventKind.OPENED: N_("container opened"),
    EventKind.RECEIVED: N_("received"),
    EventKind.ADDED: N_("food of another batch added"),
    EventKind.PARTED: N_("part put into another batch"),
    EventKind.HANDED_OVER: N_("handed over"),
    EventKind.READ_BACK: N_("read from a logger’s file"),
    EventKind.ALLERGENS: N_("allergens declared"),
    EventKind.IN_USE: N_("in use"),
    EventKind.ENDED: N_("ended"),
    EventKind.READING: N_("reading by hand"),
    EventKind.STEP: N_("step"),
    EventKind.PROBE_IN_FOOD: N_("the probe is in the food"),
    EventKind.PROBE_OUT_OF_FOOD: N_("the probe was out of the food"),
    EventKind.NOTE: N_("note"),
    EventKind.ACTION: N_("corrective action"),
    EventKind.SEEN: N_("seen"),
    EventKind.CHECKED: N_("promised check"),
    EventKind.MISTAKEN: N_("found to be mistaken"),
    EventKind.VERIFIED: N_("verified"),
    EventKind.REOPENED: N_("opened again"),
    EventKind.CORRECTION: N_("correction"),
    EventKind.CLOSING: N_("closing gone through"),
    EventKind.OPENING: N_("opening gone through"),
    EventKind.ALONE: N_("works alone"),
    EventKind.NOT_ALONE: N_("works alone no more"),
    EventKind.LONE_REVIEWED: N_("what was done alone is reviewed"),
    EventKind.VISITED: N_("an officer's visit"),
    EventKind.OFFICER_READING: N_("reading by an officer"),
    EventKind.DETAINED: N_("detained"),
    EventKind.RELEASED: N_("released"),
    EventKind.DELIVERED: N_("delivered"),
    EventKind.OUT_OF_USE: N_("out of use"),
    EventKind.BACK_IN_USE: N_("back in use"),
    EventKind.NOTHING_COOLED: N_("nothing was cooled"),
}


def temperature(celsius: float, scale: Scale) -> str:
    """Write a reading, as in ``39.4 °F``: a narrow space before the unit, a real minus."""
    return format_temperature(celsius, scale)


def level(celsius: float, scale: Scale) -> str:
    """Write a published level without decimals where it has none in this unit, as in ``70 °F`` or ``21.1 °C``."""
    return format_temperature(celsius, scale).replace(decimals(".0\u202f"), "\u202f")


def both_scales(celsius: float, scale: Scale) -> str:
    """Write a reading in the site's unit with the other one behind it."""
    other = Scale.C if scale is Scale.F else Scale.F
    return f"{format_temperature(celsius, scale)} ({format_temperature(celsius, other)})"


def length(length_ms: int) -> str:
    """Write a length of time in whole minutes, as in ``25 min`` or ``1 h 40 min``; days from two on."""
    minutes = abs(length_ms) // MS_PER_MINUTE
    if abs(length_ms) >= 2 * MS_PER_DAY:
        return many("{count} day", "{count} days", abs(length_ms) // MS_PER_DAY)
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def kind_of_unit(word: str) -> str:
    """Say what a unit is: display case, walk-in."""
    return _(_KINDS_OF_UNIT.get(word, word))


def medium(word: str) -> str:
    """Say what a probe measures: food, air or a simulated product."""
    return _(_MEDIA.get(word, word))


def outcome_words(outcome: str) -> str:
    """Say how a batch ended."""
    return _(OUTCOMES.get(outcome, outcome))


def time_left(due_ms: int, now_ms: int) -> str:
    """Write how long is left, rounded down, or how long ago it was due."""
    left = due_ms - now_ms
    if left < 0:
        return _("{length} over").format(length=length(left)) if left <= -MS_PER_MINUTE else _("due now")
    return length(left) if left >= MS_PER_MINUTE else _("less than 1 min")


def age(at_ms: int, now_ms: int) -> str:
    """Write how old something is, as in ``3 min ago``."""
    gone = now_ms - at_ms
    if gone < -MS_PER_MINUTE:
        return _("{length} ahead of the clock").format(length=length(gone))
    return _("{length} ago").format(length=length(gone)) if gone >= MS_PER_MINUTE else _("just now")


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


def version_words(kind: str, verdict: str) -> str:
    """Say what a finding was in one of its versions: its kind, and the screen word of its verdict where that differs."""
    word = _(_FINDING_KINDS[FindingKind(kind)])
    shown_as = mark_of(Verdict(verdict)).said if verdict else word
    return word if shown_as == word else f"{word}, {shown_as}"


def event_words(kind: str) -> str:
    """Say what was done or declared."""
    return _(_EVENTS.get(EventKind(kind), kind))


def forecast_words(fan: FanView, due_ms: int | None, zone: str, scale: Scale, now_ms: int) -> str:
    """Say a forecast, as in ``at 70 °F about 14:05, limit 14:32``; what is to come does not come before now."""
    wanted = level(fan.target_c, scale)
    limit = ", " + _("limit {time}").format(time=clock_time(due_ms, zone)) if due_ms is not None else ""
    if fan.reaches is None:
        return _("no forecast for {temperature} yet: {reason}").format(temperature=wanted, reason=fan.reason)
    if not fan.reaches or fan.expected_ms is None:
        return _("will not get to {temperature} as things stand").format(temperature=wanted) + limit
    about = clock_time(max(fan.expected_ms, now_ms), zone)
    return _("at {temperature} about {time}").format(temperature=wanted, time=about) + limit


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
    """Tell a cook how a vessel stands and what to do next.

    `task` is what is to be done by the due instant, `forecast` by when it will be, where it will. Without a `name` it
    stands beside its name and its word, which are not said twice.
    """
    if asks:
        return f"{name}: {asks[0]}" if name else asks[0]
    lead = f"{name}: {mark.said}. " if name else ""
    if mark is Mark.DEVIATION:
        return f"{lead}{reason} {_(_DECIDE)}".replace("  ", " ").strip()
    if mark is Mark.NOT_SHOWN:
        return f"{lead}{reason} {_(_HAND)}".replace("  ", " ").strip()
    if due_ms is None or mark not in {Mark.SOON, Mark.RUNNING}:
        return f"{lead}{reason}".strip()
    return _still_due(name or _("It"), mark if cools else Mark.RUNNING, now_ms, due_ms, task, forecast)


def _still_due(name: str, mark: Mark, now_ms: int, due_ms: int, task: str, forecast: str) -> str:
    if now_ms > due_ms:
        over = length(now_ms - due_ms)
        return _("{name} was to {task} {length} ago; its answer is on its way.").format(
            name=name, task=task, length=over
        )
    said = _("{name} has {length} to {task}.").format(name=name, length=time_left(due_ms, now_ms), task=task)
    if mark is Mark.SOON:
        return f"{said} {_('At this rate it will miss. Move it to an ice bath or split it into shallow pans.')}"
    return f"{said} {_('As it cools now: {forecast}.').format(forecast=forecast)}" if forecast else said
