"""The only module that reads a clock."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from typing import Protocol

from bayhelper.terms.errors import RunError

NOTICED_S = 2.0
"""Less than this is how a network keeps a clock right, and no setting of it (chosen, no source)."""


class BayClock(Protocol):
    """What the bay's loop asks of a clock: the time of the job, and whether the wall's was set."""

    def now_utc(self) -> datetime:
        """Time of the job, aware, UTC."""
        ...

    def steady_s(self) -> float:
        """Seconds since some instant, which nobody sets."""
        ...

    def set_s(self) -> float:
        """Seconds that the wall clock was set forward since this was last asked; 0 for not."""
        ...

    def follow_wall(self) -> float:
        """Take the wall clock's time again; gives how many seconds forward that was, 0 for none."""
        ...


class SystemClock:
    """Wall-clock time as it was at the start, and from then on by a clock that nobody sets.

    That one counts through sleep. So what was laid five minutes ago is five minutes old, whatever
    a network or a person does to the wall clock.
    """

    def __init__(self, wall_ahead_s: float = 0.0) -> None:
        """`wall_ahead_s` says how far the wall clock was set forward in the job that is open."""
        self._began_utc = datetime.now(UTC) - timedelta(seconds=wall_ahead_s)
        self._began_s = steady_s()
        self._known_s = wall_ahead_s

    def now_utc(self) -> datetime:
        """Aware, UTC; never goes back, but for `follow_wall`."""
        return self._began_utc + timedelta(seconds=steady_s() - self._began_s)

    def steady_s(self) -> float:
        """See the function of that name."""
        return steady_s()

    def disagreement_s(self) -> float:
        """Seconds that the wall clock is ahead of this one (or behind, negative)."""
        return (datetime.now(UTC) - self.now_utc()).total_seconds()

    def set_s(self) -> float:
        """Seconds that the wall clock was set forward since this was last asked; 0 for not."""
        ahead_s = self.disagreement_s()
        step_s = ahead_s - self._known_s
        if abs(step_s) < NOTICED_S:
            return 0.0
        self._known_s = ahead_s
        return step_s

    def follow_wall(self) -> float:
        """Take the wall clock's time again; gives how many seconds forward that was, 0 for none."""
        ahead_s = self.disagreement_s()
        if abs(ahead_s) < NOTICED_S:
            return 0.0
        self._began_utc += timedelta(seconds=ahead_s)
        self._known_s = 0.0
        return ahead_s


class ManualClock:
    """A clock that stands still until it is set; for recordings, replays and tests."""

    def __init__(self, now_utc: datetime) -> None:
        self._began_utc = self._now_utc = now_utc
        self._wall_ahead_s = self._known_s = 0.0

    def now_utc(self) -> datetime:
        """The time it was set to."""
        return self._now_utc

    def steady_s(self) -> float:
        """Seconds since the start, whatever became of the wall clock."""
        return (self._now_utc - self._began_utc).total_seconds()

    def set_wall(self, step_s: float) -> None:
        """Somebody sets the wall clock forward by so many seconds, or back by as many below 0."""
        self._wall_ahead_s += step_s

    def set_s(self) -> float:
        """See BayClock; unlike the system's it notices the smallest step."""
        step_s, self._known_s = self._wall_ahead_s - self._known_s, self._wall_ahead_s
        return step_s

    def follow_wall(self) -> float:
        ahead_s, self._wall_ahead_s, self._known_s = self._wall_ahead_s, 0.0, 0.0
        moved = timedelta(seconds=ahead_s)
        self._now_utc, self._began_utc = self._now_utc + moved, self._began_utc + moved
        return ahead_s

    def set_utc(self, now_utc: datetime) -> None:
        """Move on; going back is refused with RunError."""
        if now_utc < self._now_utc:
            raise RunError(f"The clock stands at {self._now_utc} and cannot go to {now_utc}.")
        self._now_utc = now_utc

    def advance(self, seconds: float) -> None:
        """Move on by so many seconds."""
        self.set_utc(self._now_utc + timedelta(seconds=seconds))


def steady_s() -> float:
    """Seconds that never go back, counting through sleep where the system can tell."""
    boottime = getattr(time, "CLOCK_BOOTTIME", None)
    return time.clock_gettime(boottime) if boottime is not None else time.monotonic()


def processor_s() -> float:
    """Seconds of processor time that this process has used."""
    return time.process_time()


def pause(seconds: float) -> None:
    """Sleep so long; not at all for 0 and less."""
    time.sleep(max(0.0, seconds))
