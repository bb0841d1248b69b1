"""The computer that serves rings as well: a phone may sleep, a page may be closed, and the target passes anyway."""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from areakit.errors import AreakitError
from areakit.records.runs import Run, runs_of, seconds
from areakit.service.desk import Desk
from areakit.service.job import list_jobs

logger = logging.getLogger(__name__)

_LOOK_SECONDS, _RINGS = 1.0, 30
"""How often it looks, and how often it rings before it gives up: half a minute, as the page does."""


@dataclass(slots=True)
class _Due:
    words: str
    at: float
    rung: int = 0


@dataclass(slots=True)
class Alarm:
    """Runs whose current is on, each with the time at which its target is reached.

    ``say`` writes a line to the terminal, ``ring`` rings its bell.
    """

    say: Callable[[str], None]
    ring: Callable[[], None]
    clock: Callable[[], float] = time.time
    _due: dict[tuple[str, int], _Due] = field(default_factory=dict)

    def heard(self, number: str, run: Run) -> None:
        """Take note of a reading; a current that is off rings no more, a changed one rings at its own time."""
        key = (number, run.step.number)
        self._due.pop(key, None)
        if not run.log.current or run.target is None or not run.readings:
            return
        last = max(seconds(entry.doc["at"]) for entry in run.readings)
        left = run.time_left.value if run.time_left is not None else 0.0
        self._due[key] = _Due(words=f"Job {number}, {run.step.doc['title']}", at=last + left)

    def begin(self, desk: Desk) -> None:
        """Take up the runs whose current was on when the server was stopped; a journal that is not there has none."""
        try:
            for job in list_jobs(desk):
                for run in runs_of(job):
                    self.heard(job.number, run)
        except AreakitError as error:
            logger.info("no run to watch: %s", error)

    def look(self) -> None:
        """Ring for every run that has reached its target."""
        for due in list(self._due.values()):
            if self.clock() < due.at or due.rung >= _RINGS:
                continue
            if due.rung == 0:
                self.say(f"{due.words}: the target is reached. Cut the current, then record it.")
            due.rung += 1
            self.ring()

    async def watch(self) -> None:
        """Look every second, until the server stops."""
        while True:
            self.look()
            await asyncio.sleep(_LOOK_SECONDS)
