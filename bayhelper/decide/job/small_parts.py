"""Mirrors and pillars that are done first in the lay-down of their panel: their clock is older."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.setting import window_now
from bayhelper.decide.job.state import Job, Part
from bayhelper.terms import events as ev


def included(job: Job, panel: str, *states: str) -> tuple[Part, ...]:
    """Small parts that were done with the panel and are in one of the states."""
    parts = (part for part in job.parts.values() if part.coat.included_in == panel)
    return tuple(part for part in parts if part.state in states)


def done_first(job: Job, panel: str, at_utc: datetime) -> Iterator[ev.Event]:
    """What the cover of a panel tells of its small parts: first strokes with its own, then covered.

    They take their share of the area of the time that was taken.
    """
    parts = [part for part in job.parts_of(panel) if part.coat.started_at_utc is not None]
    oldest = min(parts, key=lambda part: part.coat.started_at_utc or at_utc, default=None)
    known = job.body.panel(panel)
    if oldest is None or oldest.coat.started_at_utc is None or known is None:
        return
    took_s = (at_utc - oldest.coat.started_at_utc).total_seconds()
    for small in job.body.panels:
        if small.covered_with != panel or small.kind not in job.plan.coats:
            continue
        part, window = job.part(small.id), window_now(job, small.id, at_utc)
        if part.layer >= job.layer or "lay" not in panel_triggers(part.state) or window is None:
            continue
        usual_s = took_s * small.area_m2 / (small.area_m2 + known.area_m2)
        yield ev.LayDownStarted(
            at_utc=oldest.coat.started_at_utc,
            panel=small.id,
            layer=job.layer,
            window=window,
            usual_s=round(usual_s, 1),
            assumed=True,
            included_in=panel,
            by=oldest.coat.by,
        )
        covered_at_utc = oldest.coat.started_at_utc + timedelta(seconds=round(usual_s, 1))
        yield ev.Covered(
            at_utc=covered_at_utc, panel=small.id, layer=job.layer, assumed=True, by=oldest.coat.by
        )
