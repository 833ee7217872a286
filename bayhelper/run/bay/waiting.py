"""How the loop waits: for files on the system's clock, or by moving a clock of its own."""

from __future__ import annotations

import select
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Protocol

from bayhelper.run.bay.door import Door
from bayhelper.run.clock import BayClock, ManualClock, SystemClock

LONGEST_SLEEP_S = 1.0
"""At least so often the loop looks round: whether the clock was set, and what hangs (chosen)."""


class Waits(Protocol):
    """A clock, and a way to let time pass on it."""

    @property
    def clock(self) -> BayClock:
        """The clock that everything of the bay goes by."""
        ...

    def wait(self, sources: Sequence[Door], until_utc: datetime | None) -> Sequence[Door]:
        """The sources that have something, at once or later; none at `until_utc` or before."""
        ...


class SystemWaits:
    """Sleeps on the files of the sources."""

    def __init__(self, clock: SystemClock) -> None:
        self._clock = clock

    @property
    def clock(self) -> BayClock:
        return self._clock

    def wait(self, sources: Sequence[Door], until_utc: datetime | None) -> Sequence[Door]:
        """See Waits; comes back after LONGEST_SLEEP_S at the latest."""
        left_s = LONGEST_SLEEP_S
        if until_utc is not None:
            left_s = min(left_s, (until_utc - self._clock.now_utc()).total_seconds())
        files = [source for source in sources if not source.over and source.fileno() >= 0]
        return select.select(files, [], [], max(0.0, left_s))[0]


class ManualWaits:
    """Goes from one instant to the next."""

    def __init__(
        self,
        clock: ManualClock,
        *,
        look_s: float | None = None,
        pause: Callable[[float], None] | None = None,
    ) -> None:
        """`look_s` is the longest step, None for any; `pause` waits as long as each step takes."""
        self._clock = clock
        self._look_s = look_s
        self._pause = pause

    @property
    def clock(self) -> BayClock:
        return self._clock

    def wait(self, sources: Sequence[Door], until_utc: datetime | None) -> Sequence[Door]:
        """See Waits; when nothing is to come at all it stays where it is."""
        now_utc = self._clock.now_utc()
        coming = [(at_utc, source) for source in sources if (at_utc := source.next_utc())]
        instants = [at_utc for at_utc, _ in coming]
        if until_utc is not None:
            instants.append(until_utc)
        if self._look_s is not None:
            instants.append(now_utc + timedelta(seconds=self._look_s))
        if not instants:
            return ()
        to_utc = max(now_utc, min(instants))
        if self._pause is not None:
            self._pause((to_utc - now_utc).total_seconds())
        self._clock.set_utc(to_utc)
        return [source for at_utc, source in coming if at_utc <= to_utc]
