"""What the demonstration remembers between two starts: its seed, its beginning, its sets of live batches."""

import json
import os
import socket
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Self

from devices.simulator.linden_street import with_faults
from devices.simulator.rooms import Fault, Room
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, to_datetime
from holdwatch.demo.batches import BatchPlan, first_of_history, history_batches, live_batches
from holdwatch.errors import ConfigError

__all__ = ["DemoPlan"]

FILE = "demo.json"
SEED = 1115
NEXT_SET_AFTER_MS = round(6.5 * MS_PER_HOUR)
"""By then every batch of a set has ended, and every probe of the next one is free."""
SET_AHEAD_MS = 4 * MS_PER_HOUR
_FAULT_DAY = 9


@dataclass(frozen=True)
class DemoPlan:
    """Everything the simulated kitchen follows from; the rest is computed."""

    seed: int
    sets_ms: tuple[int, ...]
    """When each set of live batches is first looked at; the first is the demonstration's beginning."""
    inbox_port: int

    @classmethod
    def new(cls, now_ms: int, seed: int = SEED) -> Self:
        """Begin a demonstration now, with a free port for its inbox."""
        with socket.socket() as found:
            found.bind(("127.0.0.1", 0))
            return cls(seed, (now_ms,), int(found.getsockname()[1]))

    @classmethod
    def load(cls, data: Path) -> Self | None:
        """Read the plan of a data directory; ``None`` where there is none."""
        path = data / FILE
        try:
            text = path.read_text(encoding="utf-8")
        except FileNotFoundError:
            return None
        except OSError as exc:
            raise ConfigError(f"{path} cannot be read: {exc.strerror}") from exc
        try:
            told = json.loads(text)
            return cls(int(told["seed"]), tuple(int(at) for at in told["sets_ms"]), int(told["inbox_port"]))
        except (ValueError, TypeError, KeyError) as exc:
            raise ConfigError(
                f"{path} is damaged: remove the directory {data} and start the demonstration anew"
            ) from exc

    def save(self, data: Path) -> None:
        """Write the plan, whole or not at all."""
        path = data / FILE
        fresh = path.with_suffix(".new")
        try:
            fresh.write_text(json.dumps(asdict(self)) + "\n", encoding="utf-8")
            os.replace(fresh, path)  # noqa: PTH105 - the one that is atomic on every system
        except OSError as exc:
            raise ConfigError(f"{path} cannot be written: {exc.strerror}") from exc

    @property
    def began_ms(self) -> int:
        """When the demonstration was first started."""
        return self.sets_ms[0]

    @property
    def first_ms(self) -> int:
        """Where its two weeks of history begin."""
        return first_of_history(self.began_ms)

    @property
    def rooms(self) -> dict[str, Room]:
        """The kitchen's rooms, with the afternoon on which the reach-in did not cool."""
        day = to_datetime(self.first_ms).replace(hour=0, minute=0, second=0, microsecond=0)
        begin = int(day.timestamp() * 1000) + _FAULT_DAY * MS_PER_DAY + 21 * MS_PER_HOUR  # 2 in the afternoon in Denver
        return with_faults({"Reach-in": (Fault(begin, begin + round(2.6 * MS_PER_HOUR), 15.0, 40.0),)})

    def history(self) -> list[BatchPlan]:
        """Return the batches before the beginning."""
        return history_batches(self.first_ms, self.began_ms, self.rooms, self.seed)

    def live(self) -> list[BatchPlan]:
        """Return the batches of all sets, in order of their start."""
        found = [plan for t0 in self.sets_ms for plan in live_batches(t0, self.rooms, self.seed)]
        return sorted(found, key=lambda plan: plan.start_ms)

    def with_next_set(self, now_ms: int, *, ahead: bool) -> Self:
        """Return the plan with one more set where the last one has had its time.

        At a start the new set is alive at once, its first hours past; while the demonstration runs it lies ahead, so
        that its batches begin one by one.
        """
        if now_ms - self.sets_ms[-1] < NEXT_SET_AFTER_MS:
            return self
        return replace(self, sets_ms=(*self.sets_ms, now_ms + SET_AHEAD_MS if ahead else now_ms))
