"""Which panels and halves an act can mean, by what the panel's machine allows."""

from __future__ import annotations

from bayhelper.decide.job.laying import part_to_lay
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.seams import coated
from bayhelper.decide.job.state import Job, part_key


def coated_panels(job: Job) -> tuple[str, ...]:
    """Ids of the panels that the plan coats, or that were coated all the same."""
    return tuple(panel.id for panel in job.body.panels if coated(job, panel.id))


def fitting(job: Job, *triggers: str) -> frozenset[str]:
    """Panels of which any part takes one of the triggers, and the halves that do."""
    fit = [
        part
        for panel in coated_panels(job)
        for part in job.parts_of(panel)
        if panel_triggers(part.state).intersection(triggers)
    ]
    return frozenset({part.panel for part in fit} | {part.key for part in fit})


def fitting_whole(job: Job, trigger: str) -> frozenset[str]:
    """Panels of which every part takes the trigger."""
    return frozenset(
        panel
        for panel in coated_panels(job)
        if all(trigger in panel_triggers(part.state) for part in job.parts_of(panel))
    )


def to_lay(job: Job) -> frozenset[str]:
    """Panels and halves on which product may go now."""
    panels = coated_panels(job)
    return frozenset(
        part_key(panel.id, half)
        for panel in job.body.panels
        if panel.id in panels
        for half in ("", *panel.halves)
        if part_to_lay(job, panel.id, half) is not None
    )


def laid(job: Job) -> frozenset[str]:
    """Panels on which product went, in whatever layer."""
    return frozenset(
        panel for panel in coated_panels(job) if any(part.layer > 0 for part in job.parts_of(panel))
    )
