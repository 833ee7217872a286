"""From decisions to the job: the only way in which a job changes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, cast

from bayhelper.decide.job.fold_talk import TALK_CHANGES, Change
from bayhelper.decide.job.machine import fire_job, fire_panel
from bayhelper.decide.job.state import Defect, Job, Pad, Part, Reading, Timed, Trial, part_key
from bayhelper.terms import events as ev
from bayhelper.terms.command import COMMANDS
from bayhelper.terms.errors import DecisionError

TALK = (
    ev.SpeechHeard,
    ev.Spoken,
    ev.QuestionAsked,
    ev.QuestionSettled,
    ev.AlertRaised,
    ev.AlertAnswered,
    ev.Misheard,
    ev.NoteStarted,
    ev.NoteClipKept,
    ev.NoteTranscribed,
    ev.NoteEnded,
    ev.PhotoKept,
)
"""Facts about talking, notes and pictures: a decision that holds nothing else cannot be undone."""


KEEPS_QUESTION = frozenset(
    "say_again ask_elapsed ask_remaining ask_bare ask_unwiped ask_next ask_where ask_open ask_fits "
    "ask_all_off hush answered quieter louder".split()
)
"""Commands after which a question of the helper still waits for its answer."""


def fold(decisions: Iterable[ev.Decision]) -> Job:
    """The job that these decisions made.

    Raises DecisionError when they do not begin with the opening of a job or do not fit it.
    """
    return _refold(tuple(decisions))


def apply(job: Job | None, decision: ev.Decision) -> Job:
    """The job after one more decision; an undo makes it as if the undone one had not been."""
    before = job.decisions if job else ()
    if any(isinstance(event, ev.Undone) for event in decision.events):
        return _refold((*before, decision))
    return _keep(apply_events(job, decision.events, decision), decision)


def undoable(job: Job) -> ev.Decision | None:
    """The decision that 'undo' would take back, or None."""
    for decision in reversed(job.decisions):
        if (
            decision.cause == "command"
            and decision.number not in job.undone
            and decision.command in COMMANDS
            and COMMANDS[decision.command].undoable
            and any(not isinstance(event, TALK) for event in decision.events)
        ):
            return decision
    return None


def _refold(decisions: tuple[ev.Decision, ...]) -> Job:
    undone = {
        event.decision
        for decision in decisions
        for event in decision.events
        if isinstance(event, ev.Undone)
    }
    job: Job | None = None
    for decision in decisions:
        events = decision.events
        if decision.number in undone:
            events = tuple(event for event in events if isinstance(event, TALK))
        job = _keep(apply_events(job, events, decision), decision)
    if job is None:
        raise DecisionError("A job has at least the decision that opened it, but there is none.")
    return replace(job, undone=frozenset(undone))


def _keep(job: Job, decision: ev.Decision) -> Job:
    return replace(job, decisions=(*job.decisions, decision))


def apply_events(job: Job | None, events: Iterable[ev.Event], where: ev.Decision | None) -> Job:
    """The job after these facts, without keeping a decision.

    Raises DecisionError for a fact that does not fit.
    """
    if where is not None and where.cause == "command" and job is not None:
        kept = job.question if where.command in KEEPS_QUESTION else None
        job = replace(job, question=kept, misses=0)
    for event in events:
        if isinstance(event, ev.JobOpened):
            job = _opened(event)
            continue
        if job is None:
            raise DecisionError(
                f"The record begins with {type(event).__name__}, but must begin with JobOpened."
            )
        change = CHANGES.get(type(event))
        if change is not None:
            job = change(job, event)
    if job is None:
        raise DecisionError("The record holds no JobOpened.")
    return job


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


def _moved(job: Job, panel: str, half: str, trigger: str, **changes: Any) -> Job:
    """Fire the panel's machine and keep what else changed with it."""
    part = job.part(panel, half)
    state = fire_panel(part.state, trigger)
    return _with_part(job, replace(part, state=state, **changes))


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
    job = _moved(
        job,
        e.panel,
        e.half,
        "lay",
        layer=e.layer,
        started_at_utc=e.at_utc,
        started_assumed=e.assumed,
        usual_s=e.usual_s,
        covered_at_utc=None,
        covered_assumed=False,
        window=e.window,
        extra_s=0.0,
        trials=(),
        ready_at_utc=None,
        grabbed_at_utc=None,
        levelled_at_utc=None,
        buffed_at_utc=None,
        checked_at_utc=None,
        by=e.by,
        included_in=e.included_in,
    )
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
    job = _moved(job, e.panel, e.half, "cover", covered_at_utc=e.at_utc, covered_assumed=e.assumed)
    panel = job.body.panel(e.panel)
    if part.started_at_utc and panel and not e.assumed and not part.started_assumed:
        area_m2 = panel.area_m2 / (2 if e.half else 1)
        took_s = (e.at_utc - part.started_at_utc).total_seconds()
        job = replace(job, lay_downs=(*job.lay_downs, (part.by, area_m2, took_s)))
    return job


def _trial(job: Job, e: ev.TrialMade) -> Job:
    """A clean trial holds until a wet one; a panel that grabbed once stays so."""
    part = job.part(e.panel, e.half)
    part = replace(part, trials=(*part.trials, (e.covered_for_s, e.result)))
    if e.result == "clean":
        part = replace(part, ready_at_utc=part.ready_at_utc or e.at_utc)
    elif e.result == "wet":
        part = replace(part, ready_at_utc=None)
    else:
        part = replace(part, grabbed_at_utc=part.grabbed_at_utc or e.at_utc)
    job = _with_part(job, part)
    if e.result not in ("wet", "clean", "grabbing"):
        return job
    kept = Trial(
        at_utc=e.at_utc,
        result=cast(Any, e.result),
        cure_s=e.covered_for_s if e.cure_s is None else e.cure_s,
        from_first_s=e.covered_for_s if e.from_first_s is None else e.from_first_s,
        rate=e.rate,
    )
    return replace(job, trial_log=(*job.trial_log, kept))


def _retimed(job: Job, e: ev.WindowRetimed) -> Job:
    return _with_part(job, replace(job.part(e.panel, e.half), window=e.window))


def _extended(job: Job, e: ev.TimeExtended) -> Job:
    """More time goes before what a trial said earlier."""
    part = job.part(e.panel, e.half)
    extra_s = part.extra_s + e.extra_s
    return _with_part(job, replace(part, extra_s=extra_s, ready_at_utc=None, grabbed_at_utc=None))


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


def _without(mapping: dict[str, Any], key: str) -> dict[str, Any]:
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


CHANGES: dict[type[ev.Event], Change] = {
    ev.JobPaused: lambda j, e: replace(j, paused=True),
    ev.JobResumed: lambda j, e: replace(j, paused=False),
    ev.JobClosed: _closed,
    ev.ClockSet: lambda j, e: replace(j, wall_ahead_s=j.wall_ahead_s + e.step_s),
    ev.PhotoKept: lambda j, e: replace(j, photos=(*j.photos, e)),
    ev.StageStarted: _stage_started,
    ev.StageFinished: lambda j, e: replace(j, stages_done=(*j.stages_done, e.stage)),
    ev.AirTempRead: _air_temp,
    ev.HumidityRead: _humidity,
    ev.PanelTempRead: lambda j, e: _reading(j, e, panel_c=j.panel_c | {e.panel: e.temp_c}),
    ev.WindowRetimed: _retimed,
    ev.DayFigureFound: lambda j, e: replace(j, day_window=e.window),
    ev.FilmRead: _film,
    ev.PanelFlagged: lambda j, e: replace(j, flags=j.flags | {e.panel: e.flag}),
    ev.DwellStarted: _dwell,
    ev.DwellEnded: lambda j, e: replace(j, dwells=_without(j.dwells, e.agent)),
    ev.PanelStarted: _machining,
    ev.PanelFinished: _machined,
    ev.PolishPutOn: lambda j, e: replace(j, pad=replace(j.pad, loaded=True)),
    ev.SectionDone: _section,
    ev.PadCleaned: _pad_cleaned,
    ev.PadChanged: _pad_changed,
    ev.ResidueLeft: _residue,
    ev.ResidueWiped: lambda j, e: replace(j, residues=_without(j.residues, e.panel)),
    ev.PanelPrepped: _prepped,
    ev.PrepWentStale: lambda j, e: _no_longer_fresh(j, e.panel, "go_stale"),
    ev.PanelTouched: lambda j, e: _no_longer_fresh(j, e.panel, "touch"),
    ev.LayDownStarted: _laying,
    ev.Covered: _covered,
    ev.SeamLapped: lambda j, e: replace(j, laps=j.laps | {(e.seam, e.act, e.layer)}),
    ev.TrialMade: _trial,
    ev.Levelled: lambda j, e: _moved(j, e.panel, e.half, "level", levelled_at_utc=e.at_utc),
    ev.Buffed: lambda j, e: _moved(j, e.panel, e.half, "buff", buffed_at_utc=e.at_utc),
    ev.Checked: lambda j, e: _moved_all(j, e.panel, "check", checked_at_utc=e.at_utc),
    ev.DefectFound: _defect,
    ev.DefectFixed: _defect_fixed,
    ev.SentBack: _sent_back,
    ev.TimeExtended: _extended,
    ev.BatchRead: lambda j, e: replace(j, batch=e.batch),
    ev.ApplicatorChanged: lambda j, e: replace(j, applicator_changed_at_utc=e.at_utc),
    ev.TowelsChanged: lambda j, e: replace(j, towels_changed_at_utc=e.at_utc),
    ev.LayerStarted: lambda j, e: replace(j, layer=e.layer),
    **TALK_CHANGES,
}
