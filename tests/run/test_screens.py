"""How the server of the screens is started."""

import os
from typing import Any

import pytest

from holdwatch.run import screens
from holdwatch.settings import Settings


@pytest.mark.parametrize(("said", "then"), [(None, "2"), ("4", "4")])
def test_its_memory_is_bounded_unless_told_otherwise(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, said: str | None, then: str
) -> None:
    """By what glibc reads when a process begins, M_ARENA_MAX of mallopt(3): set afterwards it would come too late."""
    begun: list[dict[str, str]] = []
    monkeypatch.delenv("MALLOC_ARENA_MAX", raising=False)
    if said is not None:
        monkeypatch.setenv("MALLOC_ARENA_MAX", said)
    monkeypatch.setattr(os, "chdir", lambda _: None)
    monkeypatch.setattr(os, "execve", lambda *become: begun.append(become[2]))
    serve: Any = screens.serve  # which never returns, elsewhere
    serve(settings)
    assert [each["MALLOC_ARENA_MAX"] for each in begun] == [then]
