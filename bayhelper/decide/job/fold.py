"""How each fact changes the job: the only way in which a job changes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, TypeVar

from bayhelper.decide.job.fold_talk import TALK_CHANGES, on
from bayhelper.decide.job.machine import fire_job, fire_panel
from bayhelper.decide.job.state import Coat, Defect, Job, Pad, Part, Reading, Timed, Trial, part_key
from bayhelper.terms import events as ev
from bayhelper.terms.errors import DecisionError

Key = TypeVar("Key", bound=str)


def apply_events(job: Job, events: Iterable[ev.Event]) -> Job:
    """The job after these facts, without keeping a decision.

    Raises DecisionError for a fact that does not fit, or that has no change of its own.
    """
    for event in events:
        change = CHANGES.get(type(event))
        if change is None:
            raise DecisionError(
                f"{type(event).__name__} has no change in decide.job.fold, so the job cannot tell "
                "what it means. Add one, even if it leaves the job as it is."
            )
        job = change(job, event)
    return job


def opened(events: tuple[ev.Event, ...]) -> tuple[Job, tuple[ev.Event, ...]]:
    """The job that the first of these facts opens, and the facts after it.

    Raises DecisionError when that is no opening.
    """
    if not events:
        raise DecisionError("The record holds no JobOpened.")
    first = events[0]
    if not isinstance(first, ev.JobOpened):
        raise DecisionError(
            f"The record begins with {type(first).__name__}, but must begin with JobOpened."
        )
    return _opened(first), events[1:]


def _opened(event: ev.JobOpened) -> Job:
    return Job(
        id=event.job,
        plan=event.plan,
        body=event.body,
        products={product.id: product for product in event.products},
        technicians=event.technicians,
        dialect=event.dialect,
        steering=event.steering,
        car=event.car,
        air_stale_s=event.air_stale_s,
        opened_at_utc=event.at_utc,
    )


def _with_part(job: Job, part: Part) -> Job:
    return replace(job, parts=job.parts | {part.key: part})


def _with_coat(job: Job, panel: str, half: str, coat: Coat) -> Job:
    return _with_part(job, replace(job.part(panel, half), coat=coat))


def _moved(job: Job, panel: str, half: str, trigger: str, **changes: Any) -> Job:
    """Fire the panel's machine and keep what else changed with it."""
    part = job.part(panel, half)
    state = fire_panel(part.state, trigger)
    return _with_part(job, replace(part, state=state, **changes))


def _coated(job: Job, panel: str, half: str, trigger: str, **changes: Any) -> Job:
    """The same, where what changed belongs to the coat in hand."""
    coat = replace(job.part(panel, half).coat, **changes)
    return _moved(job, panel, half, trigger, coat=coat)


def _moved_all(job: Job, panel: str, trigger: str, **changes: Any) -> Job:
    for part in job.parts_of(panel):
        job = _moved(job, panel, part.half, trigger, **changes)
    return job


def _stage_started(job: Job, e: ev.StageStarted) -> Job:
    return replace(job, stage=fire_job(job.stage, f"start_{e.stage}"))


def _closed(job: Job, e: ev.JobClosed) -> Job:
    return replace(job, stage=fire_job(job.stage, "close"), closed_at_utc=e.at_utc)


def _whole(job: Job, panel: str) -> Job:
    """The panel in one again, as its first half stands: its halves end."""
    whole = replace(job.parts_of(panel)[0], half="")
    rest = {k: p for k, p in job.parts.items() if p.panel != panel}
    return replace(job, parts=rest | {whole.key: whole})


def _prepped(job: Job, e: ev.PanelPrepped) -> Job:
    """A new panel wipe makes a panel whole again."""
    job = _whole(job, e.panel)
    return _moved(job, e.panel, "", "prep", prepped_at_utc=e.at_utc, fresh_s=e.fresh_s)


def _no_longer_fresh(job: Job, panel: str, trigger: str) -> Job:
    """Only what is still prepared goes stale: a half may be laid, or its panel wipe undone."""
    for part in job.parts_of(panel):
        if part.state == "prepped":
            job = _moved(job, panel, part.half, trigger)
    return job


def _laying(job: Job, e: ev.LayDownStarted) -> Job:
    """Laid in one, the panel is whole again; laid in half, the other half begins its own life."""
    if not e.half:
        job = _whole(job, e.panel)
    coat = Coat(
        started_at_utc=e.at_utc,
        started_assumed=e.assumed,
        usual_s=e.usual_s,
        window=e.window,
        by=e.by,
        included_in=e.included_in,
    )
    job = _moved(job, e.panel, e.half, "lay", layer=e.layer, coat=coat)
    if not e.half:
        return job
    rest = {k: p for k, p in job.parts.items() if k != e.panel}
    others = [h for h in _halves(job, e.panel) if part_key(e.panel, h) not in rest and h != e.half]
    whole = job.parts.get(e.panel, Part(panel=e.panel))
    return replace(job, parts=rest | {part_key(e.panel, h): replace(whole, half=h) for h in others})


def _halves(job: Job, panel: str) -> tuple[str, ...]:
    known = job.body.panel(panel)
    return known.halves if known else ()


def _covered(job: Job, e: ev.Covered) -> Job:
    part = job.part(e.panel, e.half)
    job = _coated(job, e.panel, e.half, "cover", covered_at_utc=e.at_utc, covered_assumed=e.assumed)
    panel = job.body.panel(e.panel)
    if part.coat.started_at_utc and panel and not e.assumed and not part.coat.started_assumed:
        area_m2 = panel.area_m2 / (2 if e.half else 1)
        took_s = (e.at_utc - part.coat.started_at_utc).total_seconds()
        job = replace(job, lay_downs=(*job.lay_downs, (part.coat.by, area_m2, took_s)))
    return job


def _trial(job: Job, e: ev.TrialMade) -> Job:
    """A clean trial holds until a wet one; a panel that grabbed once stays so."""
    coat = job.part(e.panel, e.half).coat
    coat = replace(coat, trials=(*coat.trials, (e.covered_for_s, e.result)))
    match e.result:
        case "clean":
            coat = replace(coat, ready_at_utc=coat.ready_at_utc or e.at_utc)
        case "wet":
            coat = replace(coat, ready_at_utc=None)
        case "grabbing":
            coat = replace(coat, grabbed_at_utc=coat.grabbed_at_utc or e.at_utc)
    job = _with_coat(job, e.panel, e.half, coat)
    kept = Trial(
        at_utc=e.at_utc,
        result=e.result,
        cure_s=e.covered_for_s if e.cure_s is None else e.cure_s,
        from_first_s=e.covered_for_s if e.from_first_s is None else e.from_first_s,
        rate=e.rate,
    )
    return replace(job, trial_log=(*job.trial_log, kept))


def _retimed(job: Job, e: ev.WindowRetimed) -> Job:
    coat = replace(job.part(e.panel, e.half).coat, window=e.window)
    return _with_coat(job, e.panel, e.half, coat)


def _extended(job: Job, e: ev.TimeExtended) -> Job:
    """More time goes before what a trial said earlier."""
    coat = job.part(e.panel, e.half).coat
    extra_s = coat.extra_s + e.extra_s
    coat = replace(coat, extra_s=extra_s, ready_at_utc=None, grabbed_at_utc=None)
    return _with_coat(job, e.panel, e.half, coat)


def _levelled(job: Job, e: ev.Levelled) -> Job:
    return _coated(job, e.panel, e.half, "level", levelled_at_utc=e.at_utc)


def _buffed(job: Job, e: ev.Buffed) -> Job:
    return _coated(job, e.panel, e.half, "buff", buffed_at_utc=e.at_utc)


def _checked(job: Job, e: ev.Checked) -> Job:
    for part in job.parts_of(e.panel):
        job = _coated(job, e.panel, part.half, "check", checked_at_utc=e.at_utc)
    return job


def _defect_fixed(job: Job, e: ev.DefectFixed) -> Job:
    def settled(defect: Defect) -> Defect:
        same = defect.panel == e.panel and e.kind in ("", defect.kind)
        return (
            replace(defect, fixed_at_utc=e.at_utc) if same and not defect.fixed_at_utc else defect
        )

    return replace(job, defects=tuple(settled(d) for d in job.defects))


def _sent_back(job: Job, e: ev.SentBack) -> Job:
    """The panel goes back as a whole, and what was lapped over its seams goes with it."""
    job = _whole(_moved_all(job, e.panel, "send_back", layer=0), e.panel)
    job = _defect_fixed(job, ev.DefectFixed(at_utc=e.at_utc, panel=e.panel))
    seams = {seam.id for seam in job.body.seams_of(e.panel)}
    return replace(job, laps=frozenset(lap for lap in job.laps if lap[0] not in seams))


def _section(job: Job, e: ev.SectionDone) -> Job:
    pad = replace(
        job.pad, sections=job.pad.sections + 1, last_section_at_utc=e.at_utc, loaded=False
    )
    return replace(job, pad=pad)


def _pad_cleaned(job: Job, e: ev.PadCleaned) -> Job:
    pad = Pad(
        cleanings=job.pad.cleanings + 1,
        cleanings_assumed=job.pad.cleanings_assumed + e.assumed,
        changes=job.pad.changes,
    )
    return replace(job, pad=pad)


def _pad_changed(job: Job, e: ev.PadChanged) -> Job:
    kept = replace(job.pad, sections=0, last_section_at_utc=None, loaded=False)
    return replace(job, pad=replace(kept, changes=kept.changes + 1))


def _without(mapping: dict[Key, Timed], key: Key) -> dict[Key, Timed]:
    return {k: v for k, v in mapping.items() if k != key}


def _dwell(job: Job, e: ev.DwellStarted) -> Job:
    timed = Timed(since_utc=e.at_utc, due_s=e.rinse_s, max_s=e.max_s)
    return replace(job, dwells=job.dwells | {e.agent: timed})


def _residue(job: Job, e: ev.ResidueLeft) -> Job:
    timed = Timed(since_utc=e.at_utc, due_s=e.wipe_s, max_s=e.wipe_s)
    return replace(job, residues=job.residues | {e.panel: timed})


def _machining(job: Job, e: ev.PanelStarted) -> Job:
    return replace(_moved(job, e.panel, "", "machine"), machining=e.panel)


def _machined(job: Job, e: ev.PanelFinished) -> Job:
    job = _moved(job, e.panel, "", "machine_done")
    return replace(job, machining="" if job.machining == e.panel else job.machining)


def _reading(job: Job, e: ev.Event, **changes: Any) -> Job:
    """What is known of air and surfaces from now on."""
    job = replace(job, **changes)
    kept = Reading(e.at_utc, job.air_c, job.air_rh_percent, job.panel_c)
    return replace(job, readings=(*job.readings, kept))


def _air_temp(job: Job, e: ev.AirTempRead) -> Job:
    measured = job.measured_at_utc | {"temp": e.measured_at_utc or e.at_utc}
    return _reading(job, e, air_c=e.temp_c, measured_at_utc=measured)


def _humidity(job: Job, e: ev.HumidityRead) -> Job:
    measured = job.measured_at_utc | {"humidity": e.measured_at_utc or e.at_utc}
    return _reading(job, e, air_rh_percent=e.humidity_percent, measured_at_utc=measured)


def _film(job: Job, e: ev.FilmRead) -> Job:
    return replace(job, films=job.films | {e.panel: (*job.films.get(e.panel, ()), e.film_um)})


def _defect(job: Job, e: ev.DefectFound) -> Job:
    found = Defect(panel=e.panel, kind=e.kind, place=e.place, found_at_utc=e.at_utc)
    return replace(job, defects=(*job.defects, found))


CHANGES = dict(
    (
        on(ev.JobPaused, lambda j, e: replace(j, paused=True)),
        on(ev.JobResumed, lambda j, e: replace(j, paused=False)),
        on(ev.JobClosed, _closed),
        on(ev.ClockSet, lambda j, e: replace(j, wall_ahead_s=j.wall_ahead_s + e.step_s)),
        on(ev.PhotoKept, lambda j, e: replace(j, photos=(*j.photos, e))),
        on(ev.StageStarted, _stage_started),
        on(ev.StageFinished, lambda j, e: replace(j, stages_done=(*j.stages_done, e.stage))),
        on(ev.AirTempRead, _air_temp),
        on(ev.HumidityRead, _humidity),
        on(ev.PanelTempRead, lambda j, e: _reading(j, e, panel_c=j.panel_c | {e.panel: e.temp_c})),
        on(ev.WindowRetimed, _retimed),
        on(ev.DayFigureFound, lambda j, e: replace(j, day_window=e.window)),
        on(ev.FilmRead, _film),
        on(ev.PanelFlagged, lambda j, e: replace(j, flags=j.flags | {e.panel: e.flag})),
        on(ev.DwellStarted, _dwell),
        on(ev.DwellEnded, lambda j, e: replace(j, dwells=_without(j.dwells, e.agent))),
        on(ev.PanelStarted, _machining),
        on(ev.PanelFinished, _machined),
        on(ev.PolishPutOn, lambda j, e: replace(j, pad=replace(j.pad, loaded=True))),
        on(ev.SectionDone, _section),
        on(ev.PadCleaned, _pad_cleaned),
        on(ev.PadChanged, _pad_changed),
        on(ev.ResidueLeft, _residue),
        on(ev.ResidueWiped, lambda j, e: replace(j, residues=_without(j.residues, e.panel))),
        on(ev.PanelPrepped, _prepped),
        on(ev.PrepWentStale, lambda j, e: _no_longer_fresh(j, e.panel, "go_stale")),
        on(ev.PanelTouched, lambda j, e: _no_longer_fresh(j, e.panel, "touch")),
        on(ev.LayDownStarted, _laying),
        on(ev.Covered, _covered),
        on(ev.SeamLapped, lambda j, e: replace(j, laps=j.laps | {(e.seam, e.act, e.layer)})),
        on(ev.TrialMade, _trial),
        on(
            ev.Levelled, lambda j, e: _coated(j, e.panel, e.half, "level", levelled_at_utc=e.at_utc)
        ),
        on(ev.Buffed, _buffed),
        on(ev.Checked, _checked),
        on(ev.DefectFound, _defect),
        on(ev.DefectFixed, _defect_fixed),
        on(ev.SentBack, _sent_back),
        on(ev.TimeExtended, _extended),
        on(ev.BatchRead, lambda j, e: replace(j, batch=e.batch)),
        on(ev.ApplicatorChanged, lambda j, e: replace(j, applicator_changed_at_utc=e.at_utc)),
        on(ev.TowelsChanged, lambda j, e: replace(j, towels_changed_at_utc=e.at_utc)),
        on(ev.LayerStarted, lambda j, e: replace(j, layer=e.layer)),
        *TALK_CHANGES,
    )
)
"""The change that each kind of fact makes."""
