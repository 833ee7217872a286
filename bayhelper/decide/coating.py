"""Panel wipe and coating: lay-down, seams, trial wipes, levelling, buffing, defects, layers."""

from __future__ import annotations

from datetime import datetime, timedelta

from bayhelper.decide import answers
from bayhelper.decide.answers import number_slot, text_slot
from bayhelper.decide.job import Job, Part
from bayhelper.decide.machine import panel_triggers
from bayhelper.decide.outcome import Outcome
from bayhelper.decide.seams import across, bare_seams, seam_between
from bayhelper.reckon.window import nominal_window, usual_lay_down_s
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command

FRESH_S = 3600.0
"""How long a panel wipe counts as fresh when the sheet gives no time (common practice)."""
TRIAL_STEP = 0.2
"""Next trial after a wet one, as a share of the nominal time (common practice, no source)."""


def prepped(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The panel has had its panel wipe."""
    panel = text_slot(command, "panel")
    product = job.product("panel_wipe")
    fresh_s = (product.fresh_s if product else None) or FRESH_S
    wiped = ev.PanelPrepped(
        at_utc=at_utc, panel=panel, fresh_s=fresh_s, by=text_slot(command, "by")
    )
    return answers.did((wiped,), "prepped", panel=panel)


def touched(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Something touched a prepared panel: it needs its panel wipe again."""
    panel = text_slot(command, "panel")
    return answers.did((ev.PanelTouched(at_utc=at_utc, panel=panel),), "touched", panel=panel)


def usual_s(job: Job, panel: str, half: str, by: str) -> float:
    """The person's usual lay-down time for a part, seconds."""
    known = job.body.panel(panel)
    area_m2 = (known.area_m2 if known else 1.0) / (2 if half else 1)
    measured = [(m2, s) for who, m2, s in job.lay_downs if who == by]
    return usual_lay_down_s(area_m2, job.plan.lay_down_s_per_m2, measured)


def left_behind(job: Job, panel: str, by: str) -> Part | None:
    """The part that this person laid last, elsewhere, if it still has bare seams."""
    mine = [p for p in job.open_parts() if p.by == by and p.panel != panel]
    if not mine:
        return None
    last = mine[-1]
    return last if bare_seams(job, last.panel) else None


def _may_lay(job: Job, command: Command, at_utc: datetime) -> Outcome | None:
    """The guards before product goes on: panel wipe, bare seams left behind."""
    panel, half, by = (text_slot(command, name) for name in ("panel", "half", "by"))
    part = job.part(panel, half)
    next_layer = part.state in ("buffed", "done") and part.layer < job.layer
    if not next_layer and part.state != "prepped":
        topic = "prep_stale_guard" if part.state == "stale" else "not_prepped"
        return answers.ask_to_insist(command, at_utc, topic, panel=panel)
    behind = left_behind(job, panel, by)
    if behind is not None:
        seams = bare_seams(job, behind.panel)
        return answers.ask_to_insist(
            command,
            at_utc,
            "leaving_bare",
            panel=behind.panel,
            neighbours=tuple(across(seam, behind.panel) for seam in seams),
        )
    return None


def _lay_down(
    job: Job, command: Command, at_utc: datetime, *, assumed: bool, insisted: bool
) -> ev.LayDownStarted | None:
    panel, half, by = (text_slot(command, name) for name in ("panel", "half", "by"))
    coating = job.product("coating")
    window = nominal_window(coating) if coating else None
    if window is None:
        return None
    seconds = usual_s(job, panel, half, by)
    return ev.LayDownStarted(
        at_utc=at_utc - timedelta(seconds=seconds) if assumed else at_utc,
        by=by,
        panel=panel,
        half=half,
        layer=job.layer,
        window=window,
        usual_s=seconds,
        assumed=assumed,
        insisted=insisted,
    )


def laying(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """First stroke on a panel or half."""
    refused = None if insisted else _may_lay(job, command, at_utc)
    if refused is not None:
        return refused
    started = _lay_down(job, command, at_utc, assumed=False, insisted=insisted)
    if started is None:
        return answers.refuse("no_coating_sheet")
    return answers.did((started,), "laying", panel=started.panel, half=started.half)


def covered(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """Last stroke; the first is worked out from the usual time when nobody announced it."""
    panel, half = text_slot(command, "panel"), text_slot(command, "half")
    part = job.part(panel, half)
    events: list[ev.Event] = []
    window = part.window
    if part.state != "laying":
        refused = None if insisted else _may_lay(job, command, at_utc)
        if refused is not None:
            return refused
        started = _lay_down(job, command, at_utc, assumed=True, insisted=insisted)
        if started is None:
            return answers.refuse("no_coating_sheet")
        window = started.window
        events.append(started)
    events.append(
        ev.Covered(
            at_utc=at_utc, panel=panel, half=half, layer=job.layer, by=text_slot(command, "by")
        )
    )
    if command.slots.get("all_round"):
        events += _laps(job, panel, "laying", at_utc)
    wipe_in_s = window.best_s if window else 0.0
    return answers.did(
        events,
        "covered",
        panel=panel,
        half=half,
        wipe_in_s=wipe_in_s,
        all_round=bool(command.slots.get("all_round")),
    )


def _laps(job: Job, panel: str, act: str, at_utc: datetime) -> list[ev.Event]:
    return [
        ev.SeamLapped(
            at_utc=at_utc,
            seam=seam.id,
            panel=panel,
            act="laying" if act == "laying" else "wiping",
            layer=job.layer,
        )
        for seam in job.body.seams_of(panel)
    ]


def _act(job: Job, panel: str) -> str:
    """Whether this panel is being laid or wiped, as its own state says."""
    states = {part.state for part in job.parts_of(panel)}
    return "laying" if states & {"laying", "covered"} else "wiping"


def all_round(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Every seam of the panel was lapped, in the act that it is in."""
    panel = text_slot(command, "panel")
    return answers.did(
        _laps(job, panel, _act(job, panel), at_utc), "lapped_all", panel=panel
    )


def lapped(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """One seam was lapped."""
    panel, neighbour = text_slot(command, "panel"), text_slot(command, "neighbour")
    seam = seam_between(job, panel, neighbour)
    if seam is None:
        return answers.refuse("no_seam", panel=panel, neighbour=neighbour)
    act = "laying" if _act(job, panel) == "laying" else "wiping"
    lap = ev.SeamLapped(at_utc=at_utc, seam=seam.id, panel=panel, act=act, layer=job.layer)
    return answers.did((lap,), "lapped", panel=panel, neighbour=neighbour)


def _on(job: Job, command: Command, *states: str) -> list[Part]:
    """The parts meant by panel and half that are in one of the states."""
    panel, half = text_slot(command, "panel"), text_slot(command, "half")
    return [
        part
        for part in job.parts_of(panel)
        if part.state in states and half in ("", part.half)
    ]


def trial(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """A trial wipe and how it went; without a panel, the one that is due first is meant."""
    waiting = [p for p in job.open_parts() if p.state == "covered"]
    if text_slot(command, "panel"):
        waiting = _on(job, command, "covered")
    if not waiting:
        return answers.refuse("nothing_to_try", panel=text_slot(command, "panel"))
    if len(waiting) > 1 and not text_slot(command, "panel") and not insisted:
        keys = tuple(part.key for part in waiting[:2])
        return answers.ask_yes_no(command, at_utc, "which_trial", choices=keys, parts=keys)
    part = waiting[0]
    result = text_slot(command, "result")
    since = part.covered_at_utc or at_utc
    covered_for_s = (at_utc - since).total_seconds()
    made = ev.TrialMade(
        at_utc=at_utc,
        panel=part.panel,
        half=part.half,
        result=result,
        covered_for_s=covered_for_s,
        by=text_slot(command, "by"),
    )
    again_in_s = TRIAL_STEP * (part.window.best_s if part.window else 300.0)
    return answers.did(
        (made,),
        f"trial_{result}",
        panel=part.panel,
        half=part.half,
        covered_for_s=covered_for_s,
        again_in_s=again_in_s,
    )


def _covered_assumed(part: Part, at_utc: datetime) -> ev.Covered:
    started = part.started_at_utc or at_utc
    return ev.Covered(
        at_utc=min(at_utc, started + timedelta(seconds=part.usual_s)),
        panel=part.panel,
        half=part.half,
        layer=part.layer,
        assumed=True,
    )


def levelled(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The product is off the panel; a forgotten 'covered' is worked out."""
    panel, by = text_slot(command, "panel"), text_slot(command, "by")
    events: list[ev.Event] = []
    for part in _on(job, command, "laying", "covered"):
        if part.state == "laying":
            events.append(_covered_assumed(part, at_utc))
        events.append(ev.Levelled(at_utc=at_utc, panel=panel, half=part.half, by=by))
    if not events:
        return answers.refuse("not_covered", panel=panel)
    if command.slots.get("all_round"):
        events += _laps(job, panel, "wiping", at_utc)
    return answers.did(events, "levelled", panel=panel, half=text_slot(command, "half"))


def buffed(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """Buffed with the plush towel; the panel is left, so its seams must not be bare."""
    panel, by = text_slot(command, "panel"), text_slot(command, "by")
    bare = bare_seams(job, panel)
    if bare and not insisted:
        neighbours = tuple(across(seam, panel) for seam in bare)
        return answers.ask_to_insist(
            command, at_utc, "leaving_bare", panel=panel, neighbours=neighbours
        )
    events: list[ev.Event] = []
    for part in _on(job, command, "covered", "levelled"):
        if part.state == "covered":
            events.append(ev.Levelled(at_utc=at_utc, panel=panel, half=part.half, by=by))
        events.append(ev.Buffed(at_utc=at_utc, panel=panel, half=part.half, by=by))
    if not events:
        return answers.refuse("not_covered", panel=panel)
    return answers.did(events, "buffed", panel=panel, half=text_slot(command, "half"))


def checked(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Somebody looked the panel over; the helper never says that it is good."""
    panel = text_slot(command, "panel")
    if not all(part.state in ("buffed", "done") for part in job.parts_of(panel)):
        return answers.refuse("not_buffed", panel=panel)
    return answers.did(
        (ev.Checked(at_utc=at_utc, panel=panel, by=text_slot(command, "by")),),
        "checked",
        panel=panel,
    )


def defect(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """A high spot or a run, with its place."""
    panel, kind, place = (text_slot(command, name) for name in ("panel", "kind", "place"))
    found = ev.DefectFound(
        at_utc=at_utc, panel=panel, kind=kind, place=place, by=text_slot(command, "by")
    )
    return answers.did((found,), f"found_{kind}", panel=panel, place=place)


def defect_fixed(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """It was re-wet and levelled."""
    panel, kind = text_slot(command, "panel"), text_slot(command, "kind")
    if panel not in unfixed(job):
        return answers.refuse("no_defect", panel=panel)
    return answers.did(
        (ev.DefectFixed(at_utc=at_utc, panel=panel, kind=kind),), "defect_fixed", panel=panel
    )


def unfixed(job: Job) -> frozenset[str]:
    """Panels with a high spot or run that was not levelled."""
    return frozenset(d.panel for d in job.defects if d.fixed_at_utc is None)


def back_to_correction(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Too late to level: the panel goes back through correction, panel wipe and coat."""
    panel = text_slot(command, "panel")
    if not may_send_back(job, panel):
        return answers.refuse("not_covered", panel=panel)
    return answers.did((ev.SentBack(at_utc=at_utc, panel=panel),), "sent_back", panel=panel)


def may_send_back(job: Job, panel: str) -> bool:
    """Whether every part of the panel has been levelled."""
    return all("send_back" in panel_triggers(part.state) for part in job.parts_of(panel))


def more_time(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The panel gets longer; a minute when no time is said."""
    minutes = number_slot(command, "minutes", 1.0)
    parts = _on(job, command, "laying", "covered")
    if not parts:
        return answers.refuse("not_covered", panel=text_slot(command, "panel"))
    events = [
        ev.TimeExtended(at_utc=at_utc, panel=p.panel, half=p.half, extra_s=60 * minutes)
        for p in parts
    ]
    return answers.did(events, "more_time", panel=parts[0].panel, extra_s=60 * minutes)


def start_layer(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The next layer begins."""
    layer = int(number_slot(command, "layer", job.layer + 1))
    if layer != job.layer + 1 or layer > job.plan.layers:
        return answers.refuse("no_such_layer", layer=layer, layers=job.plan.layers)
    return answers.did((ev.LayerStarted(at_utc=at_utc, layer=layer),), "layer", layer=layer)
