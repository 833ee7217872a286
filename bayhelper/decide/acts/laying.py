"""First and last stroke of product on a panel or half, and the guards before it goes on."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import text_slot
from bayhelper.decide.acts.cautions import near_dew_point
from bayhelper.decide.acts.supplies import before_laying
from bayhelper.decide.job import seams
from bayhelper.decide.job.clocks import best_at_utc
from bayhelper.decide.job.finish import unsuited
from bayhelper.decide.job.fold import apply_events
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.recoat import recoat_times
from bayhelper.decide.job.setting import window_now
from bayhelper.decide.job.small_parts import done_first
from bayhelper.decide.job.state import Job, Part
from bayhelper.decide.outcome import Outcome
from bayhelper.reckon.window import usual_lay_down_s
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Say

READY = ("prepped", "buffed", "done")
"""States in which product may go on without a guard."""


def area_m2(job: Job, panel: str, half: str) -> float:
    """Of a panel or half."""
    known = job.body.panel(panel)
    return (known.area_m2 if known else 1.0) / (2 if half else 1)


def usual_s(job: Job, panel: str, half: str, by: str) -> float:
    """The person's usual lay-down time for a part, seconds."""
    measured = [(m2, s) for who, m2, s in job.lay_downs if who == by]
    return usual_lay_down_s(area_m2(job, panel, half), job.plan.lay_down_s_per_m2, measured)


def layable(job: Job, part: Part) -> bool:
    """Whether the table lets product of the present layer go on the part."""
    next_layer = part.state not in ("buffed", "done") or part.layer < job.layer
    return next_layer and "lay" in panel_triggers(part.state)


def part_to_lay(job: Job, panel: str, half: str) -> Part | None:
    """The part that is meant by a panel and perhaps a half; None when none can be laid.

    Without a half, a panel of which one half was laid means the other half.
    """
    parts = job.parts_of(panel)
    if half:
        whole = not parts[0].half
        found = [job.part(panel, half)] if whole else [p for p in parts if p.half == half]
    else:
        found = list(parts)
    ready = [part for part in found if layable(job, part)]
    if len(ready) == 1:
        return ready[0]
    if ready and len(ready) == len(found):
        return replace(ready[0], half="")
    return None


def left_behind(job: Job, panel: str, by: str) -> Part | None:
    """The part that this person laid last, elsewhere, if its panel still has bare seams."""
    mine = [p for p in job.open_own_parts() if p.by == by and p.panel != panel]
    return mine[-1] if mine and seams.leaving(job, mine[-1].panel) else None


def leaving_bare(job: Job, command: Command, at_utc: datetime, panel: str) -> Outcome:
    """The guard that names the seams of a panel that is being left."""
    bare = seams.leaving(job, panel)
    neighbours = tuple(seams.across(seam, panel) for seam in bare)
    return answers.ask_to_insist(
        command, at_utc, "leaving_bare", panel=panel, neighbours=neighbours
    )


def _may_lay(job: Job, command: Command, at_utc: datetime, part: Part) -> Outcome | None:
    """The guards before product goes on: panel wipe, surface, re-coat window, seams left behind."""
    if part.state not in READY:
        topic = "prep_stale_guard" if part.state == "stale" else "not_prepped"
        return answers.ask_to_insist(command, at_utc, topic, panel=part.panel)
    unfit = _unfit_surface(job, command, at_utc, part.panel)
    if unfit is not None:
        return unfit
    times = recoat_times(job, part)
    named = {"panel": part.panel, "half": part.half}
    if times is not None and at_utc < times.open_at_utc:
        off_s = (times.open_at_utc - at_utc).total_seconds()
        return answers.ask_to_insist(command, at_utc, "recoat_early", off_s=off_s, **named)
    if times is not None and at_utc > times.missed_at_utc:
        off_s = (at_utc - times.missed_at_utc).total_seconds()
        return answers.ask_to_insist(command, at_utc, "recoat_late", off_s=off_s, **named)
    behind = left_behind(job, part.panel, text_slot(command, "by"))
    return leaving_bare(job, command, at_utc, behind.panel) if behind else None


def _unfit_surface(job: Job, command: Command, at_utc: datetime, panel: str) -> Outcome | None:
    """What the sheet is not for, and what is too hot, too cold or about to sweat."""
    surface = unsuited(job, panel)
    if surface is not None:
        return answers.ask_to_insist(command, at_utc, "not_for_it", panel=panel, surface=surface)
    measured = panel if panel in job.panel_c else ""
    temp_c, coating = job.panel_c.get(measured), job.product("coating")
    span = coating.air_c if coating else None
    if temp_c is None:
        return None
    if measured in near_dew_point(job):
        return answers.ask_to_insist(command, at_utc, "would_sweat", panel=panel)
    if span is not None and not span[0] <= temp_c <= span[1]:
        return answers.ask_to_insist(
            command, at_utc, "surface_temp", panel=panel, temp_c=temp_c, hot=temp_c > span[1]
        )
    return None


def _lay_down(
    job: Job, command: Command, at_utc: datetime, part: Part, *, assumed: bool, insisted: bool
) -> ev.LayDownStarted | None:
    by = text_slot(command, "by")
    window = window_now(job, part.panel, at_utc)
    if window is None:
        return None
    seconds = usual_s(job, part.panel, part.half, by)
    return ev.LayDownStarted(
        at_utc=at_utc - timedelta(seconds=seconds) if assumed else at_utc,
        by=by,
        panel=part.panel,
        half=part.half,
        layer=job.layer,
        window=window,
        usual_s=seconds,
        assumed=assumed,
        insisted=insisted,
    )


def begin(
    job: Job, command: Command, at_utc: datetime, *, assumed: bool, insisted: bool
) -> Outcome:
    """The lay-down as an event without a sentence, or the refusal that stands against it."""
    panel, half = text_slot(command, "panel"), text_slot(command, "half")
    part = part_to_lay(job, panel, half)
    if part is None:
        states = [p.state for p in job.parts_of(panel) if half in ("", p.half)]
        state = states[0] if states else job.part(panel).state
        return answers.refuse("panel_not_now", panel=panel, half=half, state=state)
    refused = None if insisted else _may_lay(job, command, at_utc, part)
    if refused is not None:
        return refused
    started = _lay_down(job, command, at_utc, part, assumed=assumed, insisted=insisted)
    return Outcome((started,)) if started else answers.refuse("no_coating_sheet")


def laying(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """First stroke on a panel or half."""
    begun = begin(job, command, at_utc, assumed=False, insisted=insisted)
    if begun.effects:
        return begun
    half = next(e.half for e in begun.events if isinstance(e, ev.LayDownStarted))
    did = answers.did(begun.events, "laying", panel=text_slot(command, "panel"), half=half)
    return answers.also(did, *before_laying(job, at_utc))


def covered(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """Last stroke; the first is worked out from the usual time when nobody announced it."""
    panel, half, by = (text_slot(command, name) for name in ("panel", "half", "by"))
    events: list[ev.Event] = []
    remarks: tuple[Say, ...] = ()
    halves = [p.half for p in job.parts_of(panel) if p.state == "laying" and half in ("", p.half)]
    if not halves:
        begun = begin(job, command, at_utc, assumed=True, insisted=insisted)
        if begun.effects:
            return begun
        events += begun.events
        remarks = before_laying(job, at_utc)
        halves = [e.half for e in begun.events if isinstance(e, ev.LayDownStarted)]
    events += [
        ev.Covered(at_utc=at_utc, panel=panel, half=name, layer=job.layer, by=by) for name in halves
    ]
    all_round = bool(command.slots.get("all_round"))
    if all_round:
        events += laps(job, panel, "laying", at_utc)
    small = tuple(done_first(apply_events(job, events, None), panel, at_utc))
    events += small
    after = apply_events(job, events, None)
    wet = [after.part(panel, name) for name in halves]
    wet += [after.part(event.panel) for event in small if isinstance(event, ev.Covered)]
    due = [best for part in wet if (best := best_at_utc(part)) is not None]
    did = answers.did(
        events,
        "covered",
        panel=panel,
        half=halves[0] if len(halves) == 1 else "",
        wipe_in_s=max(0.0, (min(due) - at_utc).total_seconds()) if due else 0.0,
        all_round=all_round,
    )
    return answers.also(did, *remarks)


def laps(job: Job, panel: str, act: seams.Act, at_utc: datetime) -> list[ev.Event]:
    """Every seam of the panel lapped from it, on the way on or off."""
    return [
        ev.SeamLapped(at_utc=at_utc, seam=seam.id, panel=panel, act=act, layer=job.layer)
        for seam in seams.round_of(job, panel)
    ]
