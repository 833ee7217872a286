"""Which alerts will be spoken next if nobody says a word until then."""

from __future__ import annotations

from datetime import timedelta

from bayhelper.decide.due.alerts import next_due_utc, tick
from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import apply
from bayhelper.terms.events import Decision
from bayhelper.terms.saying import Saying

LAG = timedelta(seconds=0.05)
"""The loop wakes this long after an instant, about; a time to be told is rounded as it is then
(chosen, no source)."""
MOST_STEPS = 6
"""So many due instants are looked at; most of those without a sentence sound a tone (chosen, no
source)."""


def coming_alerts(job: Job, most: int) -> tuple[Saying, ...]:
    """The next sentences of the alerts, at most so many, in order.

    Pure: it asks `decide` what falls due, on a copy of the job that is thrown away.
    """
    found: list[Saying] = []
    for _ in range(MOST_STEPS if most else 0):
        due_utc = next_due_utc(job)
        if due_utc is None:
            break
        outcome = tick(job, due_utc + LAG)
        found += [effect for effect in outcome.effects if isinstance(effect, Saying)]
        if len(found) >= most:
            break
        then = Decision(
            job=job.id,
            number=job.number + 1,
            at_utc=due_utc + LAG,
            cause="deadline",
            events=outcome.events,
        )
        job = apply(job, then)
    return tuple(found[:most])
