"""Panel wipe, then the first and last stroke of product, and the guards before it goes on."""

from __future__ import annotations

from datetime import timedelta

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.acts.fitting import clash
from bayhelper.decide.acts.lapping import laps, leaving_bare
from bayhelper.decide.acts.supplies import before_laying
from bayhelper.decide.job.clocks import best_at_utc
from bayhelper.decide.job.dew import near_dew_point
from bayhelper.decide.job.finish import unsuited
from bayhelper.decide.job.fold import apply_events
from bayhelper.decide.job.laying import READY, left_behind, part_to_lay, usual_s
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.recoat import recoat_times
from bayhelper.decide.job.setting import window_now
from bayhelper.decide.job.small_parts import done_first
from bayhelper.decide.job.stages import may_start
from bayhelper.decide.job.state import Job, Part
from bayhelper.decide.job.targets import coated_panels, fitting, to_lay
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.choices import Stage
from bayhelper.terms.saying import Saying
from bayhelper.terms.slots import ALL_ROUND, HALF, LAYER, PANEL
from bayhelper.terms.subjects import laying as say
from bayhelper.terms.subjects.talk import PanelNotNowRefusal

FRESH_S = 3600.0
"""How long a panel wipe counts as fresh when the sheet gives no time (common practice, no
source)."""


def prepped(asked: Asked) -> Outcome:
    """The panel has had its panel wipe; if it was under the machine, that is thereby finished."""
    job, panel, at_utc = asked.job, asked.panel, asked.at_utc
    product = job.product("panel_wipe")
    fresh_s = (product.fresh_s if product else None) or FRESH_S
    wiped = ev.PanelPrepped(at_utc=at_utc, panel=panel, fresh_s=fresh_s, by=asked.by)
    finished = (ev.PanelFinished(at_utc=at_utc, panel=panel),) if panel == job.machining else ()
    return answers.did((*finished, wiped), say.PreppedReply(panel=panel))


def touched(asked: Asked) -> Outcome:
    """Something touched a prepared panel: it needs its panel wipe again."""
    felt = ev.PanelTouched(at_utc=asked.at_utc, panel=asked.panel)
    return answers.did((felt,), say.TouchedReply(panel=asked.panel))


def _may_lay(asked: Asked, part: Part) -> Outcome | None:
    """The guards before product goes on: panel wipe, surface, re-coat window, seams left behind."""
    job, at_utc = asked.job, asked.at_utc
    if part.state not in READY:
        stale = part.state == "stale"
        guard = say.PrepStaleGuardRefusal if stale else say.NotPreppedGuard
        return answers.ask_to_insist(asked, guard(panel=part.panel))
    unfit = _unfit_surface(asked, part.panel)
    if unfit is not None:
        return unfit
    times = recoat_times(job, part)
    if times is not None and at_utc < times.open_at_utc:
        off_s = (times.open_at_utc - at_utc).total_seconds()
        early = say.RecoatEarlyGuard(panel=part.panel, half=part.half, off_s=off_s)
        return answers.ask_to_insist(asked, early)
    if times is not None and at_utc > times.missed_at_utc:
        late = say.RecoatLateGuard(panel=part.panel, half=part.half)
        return answers.ask_to_insist(asked, late)
    behind = left_behind(job, part.panel, asked.by)
    return leaving_bare(asked, behind.panel) if behind else None


def _unfit_surface(asked: Asked, panel: str) -> Outcome | None:
    """What the sheet is not for, and what is too hot, too cold or about to sweat."""
    job = asked.job
    surface = unsuited(job, panel)
    if surface is not None:
        return answers.ask_to_insist(asked, say.NotForItGuard(panel=panel, surface=surface))
    measured = panel if panel in job.panel_c else ""
    temp_c, coating = job.panel_c.get(measured), job.product("coating")
    span = coating.air_c if coating else None
    if temp_c is None:
        return None
    if measured in near_dew_point(job):
        return answers.ask_to_insist(asked, say.WouldSweatGuard(panel=panel))
    if span is not None and not span[0] <= temp_c <= span[1]:
        guard = say.SurfaceTempGuard(panel=panel, hot=temp_c > span[1])
        return answers.ask_to_insist(asked, guard)
    return None


def _lay_down(asked: Asked, part: Part, *, assumed: bool) -> ev.LayDownStarted | None:
    job, at_utc = asked.job, asked.at_utc
    window = window_now(job, part.panel, at_utc)
    if window is None:
        return None
    seconds = usual_s(job, part.panel, part.half, asked.by)
    return ev.LayDownStarted(
        at_utc=at_utc - timedelta(seconds=seconds) if assumed else at_utc,
        by=asked.by,
        panel=part.panel,
        half=part.half,
        layer=job.layer,
        window=window,
        usual_s=seconds,
        assumed=assumed,
        insisted=asked.insisted,
    )


def _begin(asked: Asked, *, assumed: bool) -> tuple[ev.LayDownStarted | None, Outcome]:
    """The lay-down, or what stands against it."""
    job, panel, half = asked.job, asked.panel, asked.half
    part = part_to_lay(job, panel, half)
    if part is None:
        states = [p.state for p in job.parts_of(panel) if half in ("", p.half)]
        state = states[0] if states else job.part(panel).state
        refusal = PanelNotNowRefusal(panel=panel, half=half, state=state)
        return None, answers.answer(refusal)
    refused = None if asked.insisted else _may_lay(asked, part)
    if refused is not None:
        return None, refused
    started = _lay_down(asked, part, assumed=assumed)
    return started, Outcome() if started else answers.answer(say.NoCoatingSheetRefusal())


def laying(asked: Asked) -> Outcome:
    """First stroke on a panel or half; says when it will come due together with another."""
    job, panel = asked.job, asked.panel
    begun, refused = _begin(asked, assumed=False)
    if begun is None:
        return refused
    outcome = answers.did((begun,), say.LayingReply(panel=panel, half=begun.half))
    remarks = list(before_laying(job, asked.at_utc))
    other = clash(job, apply_events(job, (begun,)), panel, asked.by, asked.at_utc)
    if other:
        remarks.append(say.ClashReply(part=other))
    return answers.also(outcome, *remarks)


def covered(asked: Asked) -> Outcome:
    """Last stroke; the first is worked out from the usual time when nobody announced it."""
    job, panel, half, at_utc = asked.job, asked.panel, asked.half, asked.at_utc
    events: list[ev.Event] = []
    remarks: tuple[Saying, ...] = ()
    halves = [p.half for p in job.parts_of(panel) if p.state == "laying" and half in ("", p.half)]
    if not halves:
        begun, refused = _begin(asked, assumed=True)
        if begun is None:
            return refused
        events.append(begun)
        remarks = before_laying(job, at_utc)
        halves = [begun.half]
    events += [
        ev.Covered(at_utc=at_utc, panel=panel, half=name, layer=job.layer, by=asked.by)
        for name in halves
    ]
    all_round = bool(ALL_ROUND.given(asked.command))
    if all_round:
        events += laps(asked, "laying")
    small = tuple(done_first(apply_events(job, events), panel, at_utc))
    events += small
    after = apply_events(job, events)
    wet = [after.part(panel, name) for name in halves]
    wet += [after.part(event.panel) for event in small if isinstance(event, ev.Covered)]
    due = [best for part in wet if (best := best_at_utc(part)) is not None]
    told = say.CoveredReply(
        panel=panel,
        half=halves[0] if len(halves) == 1 else "",
        wipe_in_s=max(0.0, (min(due) - at_utc).total_seconds()) if due else 0.0,
        all_round=all_round,
    )
    return answers.also(answers.did(events, told), *remarks)


def start_layer(asked: Asked) -> Outcome:
    """The next layer begins; panels that are still open are named first."""
    job = asked.job
    named = LAYER.given(asked.command)
    layer = job.layer + 1 if named is None else named
    if layer != job.layer + 1 or layer > job.plan.layers:
        return answers.answer(say.NoSuchLayerRefusal(layers=job.plan.layers))
    keys = tuple(part.key for part in job.open_parts())
    if keys and not asked.insisted:
        return answers.ask_yes_no(asked, say.LayerOpenQuestion(parts=keys))
    begun = ev.LayerStarted(at_utc=asked.at_utc, layer=layer)
    return answers.did((begun,), say.LayerReply(layer=layer))


def _preps(job: Job) -> bool:
    return job.stage != "inspection" or "panel_wipe" in may_start(job)


def _to_prep(job: Job) -> frozenset[str]:
    return frozenset(
        panel
        for panel in coated_panels(job)
        if panel == job.machining
        or all("prep" in panel_triggers(part.state) for part in job.parts_of(panel))
    )


ON_THE_PANEL = frozenset[Stage]({"panel_wipe", "coating"})
"""Stages in which panels lie bare or are laid."""

ACTS = (
    Act(
        "prepped",
        "A panel has had its panel wipe.",
        prepped,
        needs=(PANEL,),
        stages=frozenset({"inspection", "correction", "panel_wipe", "coating"}),
        when=_preps,
        panels=_to_prep,
        fits_first=True,
        begins={"correction": "panel_wipe", "inspection": "panel_wipe"},
        taken_back="Panel wipe",
    ),
    Act(
        "touched",
        "Something touched a prepared panel.",
        touched,
        needs=(PANEL,),
        stages=ON_THE_PANEL,
        panels=lambda job: fitting(job, "touch"),
        fits_first=True,
        taken_back="Touched",
    ),
    Act(
        "laying",
        "Lay-down started.",
        laying,
        needs=(PANEL,),
        may=(HALF,),
        stages=ON_THE_PANEL,
        panels=to_lay,
        fits_first=True,
        begins={"panel_wipe": "coating"},
        taken_back="Lay-down",
    ),
    Act(
        "covered",
        "The panel is covered.",
        covered,
        needs=(PANEL,),
        may=(HALF, ALL_ROUND),
        stages=ON_THE_PANEL,
        panels=lambda job: to_lay(job) | fitting(job, "cover"),
        fits_first=True,
        begins={"panel_wipe": "coating"},
        taken_back="Covered",
    ),
    Act(
        "start_layer",
        "Begin the next layer.",
        start_layer,
        may=(LAYER,),
        stages=frozenset({"coating"}),
        when=lambda job: job.layer < job.plan.layers,
        taken_back="Layer",
    ),
)
"""What can be asked for while product goes on."""
