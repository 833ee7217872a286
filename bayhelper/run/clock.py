"""The only module that reads a clock."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

from bayhelper.terms.errors import RunError


class SystemClock:
    """Wall-clock time, watched by a clock that counts through sleep."""

    def __init__(self) -> None:
        self._began_utc = datetime.now(UTC)
        self._began_s = steady_s()

    def now_utc(self) -> datetime:
        """Wall-clock time, aware, UTC."""
        return datetime.now(UTC)

    def disagreement_s(self) -> float:
        """Seconds that the wall clock was set forward (or back, negative) since the start."""
        passed_s = (self.now_utc() - self._began_utc).total_seconds()
        return passed_s - (steady_s() - self._began_s)


class ManualClock:
    """A clock that stands still until it is set; for recordings, replays and tests."""

    def __init__(self, now_utc: datetime) -> None:
        self._now_utc = now_utc

    def now_utc(self) -> datetime:
        """The time it was set to."""
        return self._now_utc

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
    """Wait."""
    time.sleep(max(0.0, seconds))
