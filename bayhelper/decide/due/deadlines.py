"""What falls due in a job, and when: a pure view of the job as it stands."""

from __future__ import annotations

from types import MappingProxyType

from bayhelper.decide.due import coated, preparing, setting
from bayhelper.decide.due.kind import Deadline
from bayhelper.decide.job.state import Job
from bayhelper.terms.errors import DecisionError

ROWS = (*setting.KINDS, *coated.KINDS, *preparing.KINDS)
"""Every kind of alert."""
KINDS = MappingProxyType({kind.name: kind for kind in ROWS})
"""The same by name."""


def deadlines(job: Job) -> tuple[Deadline, ...]:
    """Everything that falls due, past or to come, unless something is done; earliest first."""
    if job.closed_at_utc is not None:
        return ()
    found = [deadline for kind in ROWS for deadline in kind.find(job, kind)]
    return tuple(sorted(found, key=lambda d: (d.due_at_utc, -d.urgency, d.alert, d.subject)))


def check_known(alert: str) -> None:
    """Refuse an alert that no row tells of.

    Raises DecisionError.
    """
    if alert not in KINDS:
        raise DecisionError(
            f"The record tells of an alert '{alert}', but the kinds are {', '.join(KINDS)}. "
            "Use the version of bayhelper that wrote it, or a newer one."
        )
