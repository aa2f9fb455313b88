"""Profiles for tests."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Profile:
    """How a probe of a test speaks."""

    payload: str = "number"
    pointer: str = ""
    time_pointer: str = ""
    unit_pointer: str = ""
    senml_name: str = ""
    unit: str = "C"
