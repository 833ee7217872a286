"""What a trial wipe teaches: the day's figure, said once, and the clocks that it moves."""

from __future__ import annotations

from bayhelper.decide.job.setting import day, retimed, spans, window_now
from bayhelper.decide.job.state import Job
from bayhelper.reckon.calibration import Day
from bayhelper.reckon.cure import rate
from bayhelper.terms import events as ev
from bayhelper.terms.saying import Saying
from bayhelper.terms.subjects import wiping as say


def learn(
    before: Job, after: Job, made: ev.TrialMade
) -> tuple[tuple[ev.Event, ...], tuple[Saying, ...]]:
    """Facts and sentences that follow from a trial; `after` is the job with it.

    The part that was tried is not set anew: what its own towel said goes before any figure.
    """
    moved = retimed(after, made.at_utc)
    own = (made.panel, made.half)
    events: list[ev.Event] = [event for event in moved if (event.panel, event.half) != own]
    sayings: list[Saying] = []
    was, now = _day(before, made), _day(after, made)
    if was is None or now is None:
        return tuple(events), ()
    if now.contradictory and not was.contradictory:
        sayings.append(say.TrialsDisagreeReply())
    found = _figure(after, made, now) if now.bracketed and before.day_window is None else None
    if found is not None:
        events.append(found)
        window = found.window
        sayings.append(say.DayFigureReply(earliest_s=window.earliest_s, best_s=window.best_s))
    return tuple(events), tuple(sayings)


def _day(job: Job, made: ev.TrialMade) -> Day | None:
    product, known = job.product("coating"), spans(job, made.panel)
    if product is None or product.setting is None:
        return None
    return day(job, product, product.setting, known[-1].air if known else None, made.at_utc)


def _figure(job: Job, made: ev.TrialMade, now: Day) -> ev.DayFigureFound | None:
    product, known = job.product("coating"), spans(job, made.panel)
    window = window_now(job, made.panel, made.at_utc)
    if product is None or product.setting is None or window is None:
        return None
    speed = rate(product.setting, known[-1].air) if known else 1.0
    best_s = product.setting.best_s / speed
    return ev.DayFigureFound(
        at_utc=made.at_utc,
        window=window,
        low_s=round(best_s * now.low, 1),
        high_s=round(best_s * now.high, 1),
    )
