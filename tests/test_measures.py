"""Measures as people write them: which are read, and which are refused."""

from collections.abc import Callable

import pytest

from holdwatch import measures
from holdwatch.errors import ConfigError


@pytest.mark.parametrize(
    ("read", "text", "value"),
    [
        (measures.pressure_pa, "835 hPa", 83_500.0),
        (measures.pressure_pa, "24.66inHg", 83_508.35),
        (measures.altitude_m, "5280 ft", 1_609.344),
        (measures.length_m, "2in", 0.0508),
        (measures.length_m, "50 mm", 0.05),
        (measures.grams, "1.2kg", 1_200.0),
        (measures.difference_c, "1.8°F", 1.0),
        (measures.difference_c, "\u22121 C", -1.0),
        (measures.percent, "85 %", 85.0),
    ],
)
def test_measure_as_people_write_it_is_read(read: Callable[[str], float], text: str, value: float) -> None:
    """Figure and unit are read, with or without a space; factors as NIST SP 811, appendix B.8, prints them."""
    assert read(text) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (measures.altitude_m, "5,280 ft"),
        (measures.altitude_m, "5280"),
        (measures.length_m, "2 ells"),
        (measures.length_m, "nan in"),
        (measures.pressure_pa, "hPa"),
        (measures.percent, "a lot"),
    ],
)
def test_measure_without_unit_or_with_a_comma_is_refused(read: Callable[[str], float], text: str) -> None:
    """What two readers would read differently, or has no unit, is refused with an example."""
    with pytest.raises(ConfigError, match="such as"):
        read(text)
