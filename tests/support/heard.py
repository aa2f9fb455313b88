"""What the listener keeps of a topic of no probe."""

from holdwatch.storage.tables import Heard

__all__ = ["heard_now"]


def heard_now(topic: str, *, at_ms: int, messages: int = 1, battery: str = "", **more: object) -> Heard:
    """Return a row as the listener makes it of a bare number."""
    facts = {"payload": "number", "celsius": 4.0, "said": "4.00", "live": True, **more}
    texts = dict.fromkeys(("pointer", "time_pointer", "unit_pointer", "senml_name", "unit", "signal", "problem"), "")
    return Heard(topic=topic, first_ms=at_ms, last_ms=at_ms, messages=messages, battery=battery, **texts | facts)
