"""Every act in one table, and what may be asked for now: the rows of all subjects together."""

from __future__ import annotations

from types import MappingProxyType

from bayhelper.decide.acts import (
    asking,
    correction,
    fitting,
    job,
    lapping,
    laying,
    looking,
    notes,
    replying,
    supplies,
    surfaces,
    talk,
    wash,
    wiping,
)
from bayhelper.decide.acts.act import Act
from bayhelper.decide.job.state import Job
from bayhelper.terms.choices import Stage
from bayhelper.terms.command import Signature

ROWS: tuple[Act, ...] = (
    *job.ACTS,
    *surfaces.ACTS,
    *wash.ACTS,
    *correction.ACTS,
    *laying.ACTS,
    *lapping.ACTS,
    *wiping.ACTS,
    *looking.ACTS,
    *supplies.ACTS,
    *asking.ACTS,
    *fitting.ACTS,
    *notes.ACTS,
    *replying.ACTS,
    *talk.ACTS,
)
"""Every act, in the order of the help card."""
ACTS = MappingProxyType({act.name: act for act in ROWS})
"""The same by name."""
SIGNATURES = MappingProxyType(
    {
        act.name: Signature(
            needs=frozenset(slot.name for slot in act.needs),
            may=frozenset(slot.name for slot in act.may),
        )
        for act in ROWS
    }
)
"""What each phrase has to name: what the grammars are checked against."""


def of_stage(stage: Stage) -> frozenset[str]:
    """Names of the acts that a job in this stage may be asked for, whatever its state."""
    return frozenset(act.name for act in ROWS if stage in act.stages)


def allowed(now: Job | None) -> frozenset[str]:
    """Names of the acts that may be asked for now."""
    if now is None or now.closed_at_utc is not None:
        return frozenset(act.name for act in ROWS if act.opens)
    if now.asleep:
        return frozenset(act.name for act in ROWS if act.wakes)
    return frozenset(act.name for act in ROWS if _fits(act, now))


def _fits(act: Act, now: Job) -> bool:
    if act.opens or act.wakes or now.stage not in act.stages or not act.when(now):
        return False
    return act.panels is None or bool(act.panels(now))


def allowed_panels(now: Job) -> dict[str, frozenset[str]]:
    """For acts about a panel, the panels that can be meant; other acts take any.

    Where a half can be named, there is also its key, such as 'bonnet/left'.
    """
    if now.closed_at_utc is not None:
        return {}
    return {act.name: act.panels(now) for act in ROWS if act.panels is not None}
