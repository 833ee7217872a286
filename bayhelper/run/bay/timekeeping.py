"""The clock of a job that is followed live, when somebody sets the computer's."""

from __future__ import annotations

from bayhelper.decide.job.state import Job
from bayhelper.run.bay.bay import Bay
from bayhelper.run.clock import NOTICED_S, BayClock, SystemClock


def clock_after(job: Job | None) -> tuple[SystemClock, float]:
    """A clock that goes on where the open job stopped, if the wall clock is behind that.

    It was set back meanwhile, or lost its time; gives by how many seconds, 0 for not at all. How
    long the break really was nobody knows, but no panel gets younger by it.
    """
    if job is None:
        return SystemClock(), 0.0
    clock = SystemClock(job.wall_ahead_s)
    behind_s = (job.decisions[-1].at_utc - clock.now_utc()).total_seconds()
    if behind_s <= 0:
        return clock, 0.0
    return SystemClock(job.wall_ahead_s - behind_s), behind_s if behind_s > NOTICED_S else 0.0


def keep_time(bay: Bay, clock: BayClock) -> None:
    """Notice that the wall clock was set; between two jobs its time is taken over."""
    step_s = clock.set_s()
    if step_s:
        bay.clock_set(step_s, clock.now_utc())
    if bay.job is None:
        moved_s = clock.follow_wall()
        if moved_s:
            bay.new_time(clock.now_utc(), moved_s)
