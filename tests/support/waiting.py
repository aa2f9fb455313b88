"""Waiting on a condition instead of sleeping."""

import time
from collections.abc import Callable
from typing import TypeVar

__all__ = ["wait_for"]

T = TypeVar("T")


def wait_for(question: Callable[[], T], within_s: float = 15.0, every_s: float = 0.02, what: str = "") -> T:
    """Ask until the answer is true, and return it; fail when it stays false."""
    deadline = time.monotonic() + within_s
    while True:
        answer = question()
        if answer:
            return answer
        if time.monotonic() >= deadline:
            raise AssertionError(f"not within {within_s:g} s: {what or question}")
        time.sleep(every_s)
