"""When food that cools will be at a temperature, from readings as somebody wrote them down."""

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.calculators.course import read_points
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import N_, _
from holdwatch.quantities import Scale, format_temperature
from holdwatch.readings import Series
from holdwatch.science.forecast import CONFIDENCE, Forecast, forecast

__all__ = ["ahead_answer", "read_points"]

BASIS = Basis(
    formula=N_(
        "conduction with a surface coefficient and the lag of the middle, fitted within bounds; the tail is log-linear"
    ),
    covers=N_("three readings and a fall of 2 °C; levels from −40 to 150 °C, surroundings from −60 to 100 °C"),
    error=N_(
        "of the time left, half of the cases within 5 %, nine of ten within 19 %; surroundings not measured 9 and 34 %"
    ),
    source="Incropera, sections 5.5 and 5.6; Hedeen, Schaffner and Brown 2022, PMC9380651; measured in docs/benchmarks.md",
)
CAUTION = N_(
    "An estimate of what the readings show: it changes no verdict and no limit. Measure when the time has come."
)


def ahead_answer(readings: Series, *, target_c: float, surroundings_c: float | None, scale: Scale) -> Answer:
    """Say in how many minutes after the first reading the food is at a level.

    Raises
    ------
    OutOfRangeError
        If the level or the surroundings are outside what the forecast covers.
    """
    last_ms = int(readings.at_ms[-1])
    made = forecast(readings, target_c=target_c, now_ms=last_ms, surroundings_c=surroundings_c, scale=scale)
    level = format_temperature(target_c, scale)
    minutes = {
        "expected_min": _minute(made.expected_ms),
        "earliest_min": _minute(made.earliest_ms),
        "latest_min": _minute(made.latest_ms),
    }
    return Answer(
        says=_says(made, level),
        basis=BASIS.said(),
        notes=(f"{made.reason}.",),
        caution=_(CAUTION),
        data={
            "target_c": target_c,
            "reaches": made.reaches,
            **minutes,
            "confidence": CONFIDENCE,
            "path": [[round(at_ms / MS_PER_MINUTE, 2), *parts_c] for at_ms, *parts_c in made.path],
        },
    )


def _says(made: Forecast, level: str) -> str:
    if made.reaches is None:
        return _("No forecast for {temperature} yet.").format(temperature=level)
    if not made.reaches or made.expected_ms is None:
        return _("It will not be at {temperature} as things stand.").format(temperature=level)
    if made.earliest_ms == made.latest_ms:
        return _("At {temperature} since minute {minute}.").format(temperature=level, minute=_minute(made.expected_ms))
    said = (
        _(
            "At {temperature} about minute {minute}, nine times of ten between minute {earliest} and an end that nobody can tell."
        )
        if made.latest_ms is None
        else _(
            "At {temperature} about minute {minute}, nine times of ten between minute {earliest} and minute {latest}."
        )
    )
    return said.format(
        temperature=level,
        minute=_minute(made.expected_ms),
        earliest=_minute(made.earliest_ms),
        latest=_minute(made.latest_ms),
    )


def _minute(at_ms: int | None) -> int | None:
    return None if at_ms is None else round(at_ms / MS_PER_MINUTE)
