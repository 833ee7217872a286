"""Panel wipe and coating: seams, trial wipes, levelling, buffing, defects, layers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import number_slot, text_slot
from bayhelper.decide.acts.laying import laps, leaving_bare
from bayhelper.decide.acts.learning import learn
from bayhelper.decide.job.clocks import best_at_utc, closing_at_utc, trial_at_utc
from bayhelper.decide.job.fold import apply_events
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.seams import Act, across, leaving, round_of, seam_between, unwiped_seams
from bayhelper.decide.job.seams import lapped as seam_lapped
from bayhelper.decide.job.setting import trial_cure
from bayhelper.decide.job.small_parts import included
from bayhelper.decide.job.state import OPEN_STATES, Job, Part
from bayhelper.decide.job.walking import in_walking_order
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.body import Seam
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Say, Value
from bayhelper.terms.saying import Urgency

FRESH_S = 3600.0
"""How long a panel wipe counts as fresh when the sheet gives no time (common practice)."""


def prepped(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The panel has had its panel wipe; if it was under the machine, that is thereby finished."""
    panel = text_slot(command, "panel")
    product = job.product("panel_wipe")
    fresh_s = (product.fresh_s if product else None) or FRESH_S
    wiped = ev.PanelPrepped(
        at_utc=at_utc, panel=panel, fresh_s=fresh_s, by=text_slot(command, "by")
    )
    finished = (ev.PanelFinished(at_utc=at_utc, panel=panel),) if panel == job.machining else ()
    return answers.did((*finished, wiped), "prepped", panel=panel)


def touched(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Something touched a prepared panel: it needs its panel wipe again."""
    panel = text_slot(command, "panel")
    return answers.did((ev.PanelTouched(at_utc=at_utc, panel=panel),), "touched", panel=panel)


def _laps_said(
    job: Job, panel: str, found: Iterable[Seam], at_utc: datetime
) -> list[ev.SeamLapped]:
    """Seams reported by word: lapped on the way on, and after that on the way off.

    A seam that nobody had reported before counts as lapped on the way on, however late that is
    said; with the panel wiped, the report stands for the wipe too.
    """
    states = {part.state for part in job.parts_of(panel)}
    wiped = not states & OPEN_STATES
    acts: list[tuple[Seam, Act]] = []
    for seam in found:
        if not wiped or not seam_lapped(job, seam):
            acts.append((seam, "laying"))
        if wiped:
            acts.append((seam, "wiping"))
    return [
        ev.SeamLapped(at_utc=at_utc, seam=seam.id, panel=panel, act=act, layer=job.layer)
        for seam, act in acts
    ]


def all_round(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Every seam of the panel was lapped, but for the one that is named."""
    panel, spared = text_slot(command, "panel"), text_slot(command, "neighbour")
    if spared and seam_between(job, panel, spared) is None:
        return answers.refuse("no_seam", panel=panel, neighbour=spared)
    done = [seam for seam in round_of(job, panel) if across(seam, panel) != spared]
    events = _laps_said(job, panel, done, at_utc)
    return answers.did(events, "lapped_all", panel=panel, neighbour=spared)


def lapped(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """One seam was lapped."""
    panel, neighbour = text_slot(command, "panel"), text_slot(command, "neighbour")
    seam = seam_between(job, panel, neighbour)
    if seam is None:
        return answers.refuse("no_seam", panel=panel, neighbour=neighbour)
    events = _laps_said(job, panel, (seam,), at_utc)
    return answers.did(events, "lapped", panel=panel, neighbour=neighbour)


def _on(job: Job, command: Command, *states: str) -> list[Part]:
    """The parts meant by panel and half that are in one of the states."""
    panel, half = text_slot(command, "panel"), text_slot(command, "half")
    return [
        part for part in job.parts_of(panel) if part.state in states and half in ("", part.half)
    ]


def _with_small(job: Job, parts: list[Part], *states: str) -> list[Part]:
    """Before the parts of a panel, the small ones that were done with it and are in a state."""
    return [*included(job, parts[0].panel, *states), *parts] if parts else []


def _to_try(job: Job, command: Command, at_utc: datetime) -> list[Part]:
    """Covered parts that a trial wipe can mean; those due for one before all others."""
    if text_slot(command, "panel"):
        return _on(job, command, "covered")
    waiting = [part for part in job.open_own_parts() if part.state == "covered"]
    waiting.sort(key=lambda part: (best_at_utc(part) or at_utc, part.key))
    trials = [(trial_at_utc(part, job.day_window is not None), part) for part in waiting]
    due = [part for trial_utc, part in trials if trial_utc is not None and trial_utc <= at_utc]
    return due or waiting


def trial(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """A trial wipe and how it went; without a panel, the one that is due is meant.

    When several could be meant, the two that are due first are named, once.
    """
    named = text_slot(command, "panel")
    waiting = _to_try(job, command, at_utc)
    if not waiting:
        return answers.refuse("nothing_to_try", panel=named)
    if len(waiting) > 1:
        return answers.ask_which(command, at_utc, "which_panel", (waiting[0].key, waiting[1].key))
    part = waiting[0]
    result = text_slot(command, "result")
    since = part.covered_at_utc or at_utc
    covered_for_s = (at_utc - since).total_seconds()
    cure_s, from_first_s, mean_rate = trial_cure(job, part, at_utc)
    made = ev.TrialMade(
        at_utc=at_utc,
        panel=part.panel,
        half=part.half,
        result=result,
        covered_for_s=covered_for_s,
        cure_s=round(cure_s, 1),
        from_first_s=round(from_first_s, 1),
        rate=round(mean_rate, 4),
        by=text_slot(command, "by"),
    )
    learned, sayings = learn(job, apply_events(job, (made,), None), made)
    after = apply_events(job, (made, *learned), None).part(part.panel, part.half)
    again_utc = trial_at_utc(after)
    again_in_s = max(0.0, (again_utc - at_utc).total_seconds()) if again_utc else 0.0
    answered = answers.did(
        (made, *learned, *_called(after, at_utc)),
        f"trial_{result}",
        URGENCY_OF.get(result),
        panel=part.panel,
        half=part.half,
        covered_for_s=covered_for_s,
        again_in_s=again_in_s,
    )
    return answers.also(answered, *sayings)


URGENCY_OF = {"clean": Urgency.DUE, "grabbing": Urgency.URGENT}
"""How soon a panel wants to be wiped after a trial wipe; a wet one only waits."""


def _called(part: Part, at_utc: datetime) -> tuple[ev.Event, ...]:
    """The alert that a trial made due at this instant: its answer says so, with the tone of it."""
    for alert, due_utc in (("closing", closing_at_utc(part)), ("wipe_now", best_at_utc(part))):
        if due_utc == at_utc:
            raised = ev.AlertRaised(at_utc=at_utc, alert=alert, subject=part.key, due_at_utc=at_utc)
            return (raised,)
    return ()


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
    """The product is off the panel, small parts done with it included.

    A forgotten 'covered' is worked out.
    """
    panel, by = text_slot(command, "panel"), text_slot(command, "by")
    events: list[ev.Event] = []
    for part in _with_small(job, _on(job, command, "laying", "covered"), "covered"):
        if part.state == "laying":
            events.append(_covered_assumed(part, at_utc))
        events.append(ev.Levelled(at_utc=at_utc, panel=part.panel, half=part.half, by=by))
    if not events:
        return answers.refuse("not_covered", panel=panel)
    if command.slots.get("all_round"):
        events += laps(job, panel, "wiping", at_utc)
    return answers.did(events, "levelled", panel=panel, half=text_slot(command, "half"))


def buffed(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """Buffed with the plush towel; the panel is left, so its seams must not be bare."""
    panel, by = text_slot(command, "panel"), text_slot(command, "by")
    events: list[ev.Event] = []
    mine = _on(job, command, "covered", "levelled")
    last = all(p in mine or p.state in ("buffed", "done") for p in job.parts_of(panel))
    if mine and last and not insisted and leaving(job, panel):
        return leaving_bare(job, command, at_utc, panel)
    for part in _with_small(job, mine, "covered", "levelled"):
        if part.state == "covered":
            events.append(ev.Levelled(at_utc=at_utc, panel=part.panel, half=part.half, by=by))
        events.append(ev.Buffed(at_utc=at_utc, panel=part.panel, half=part.half, by=by))
    if not events:
        return answers.refuse("not_covered", panel=panel)
    outcome = answers.did(events, "buffed", panel=panel, half=text_slot(command, "half"))
    left = unwiped_seams(apply_events(job, events, None), panel) if last else ()
    if not left:
        return outcome
    walked = in_walking_order(job, left, by)
    seams = tuple(seam.id for seam in walked)
    return answers.also(outcome, Say("unwiped", {"panel": panel, "seams": seams}))


def checked(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Somebody looked the panel over; the helper never says that it is good."""
    panel = text_slot(command, "panel")
    if not all(part.state in ("buffed", "done") for part in job.parts_of(panel)):
        return answers.refuse("not_buffed", panel=panel)
    by = text_slot(command, "by")
    looked = (panel, *(part.panel for part in included(job, panel, "buffed", "done")))
    return answers.did(
        [ev.Checked(at_utc=at_utc, panel=one, by=by) for one in looked], "checked", panel=panel
    )


def defect(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """A high spot or a run, with its place, how old the film is, and whether that is too old.

    Water that ran out of a mirror or a handle is blotted at once, whatever the film's age.
    """
    panel, kind, place = (text_slot(command, name) for name in ("panel", "kind", "place"))
    found = ev.DefectFound(
        at_utc=at_utc, panel=panel, kind=kind, place=place, by=text_slot(command, "by")
    )
    since = min((at for p in job.parts_of(panel) if (at := _wiped_utc(p))), default=at_utc)
    age_s = (at_utc - since).total_seconds()
    sheet = job.product("coating")
    rework_s = sheet.rework_s if sheet else None
    named: dict[str, Value] = {"panel": panel, "place": place, "age_s": age_s}
    if kind != "water" and rework_s is not None and age_s > rework_s:
        return answers.did((found,), "found_late", None, kind=kind, **named)
    return answers.did((found,), f"found_{kind}", None, known=rework_s is not None, **named)


def _wiped_utc(part: Part) -> datetime | None:
    return part.levelled_at_utc or part.covered_at_utc


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
        for p in _with_small(job, parts, "covered")
    ]
    return answers.did(events, "more_time", panel=parts[0].panel, extra_s=60 * minutes)


def start_layer(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """The next layer begins; panels that are still open are named first."""
    layer = int(number_slot(command, "layer", job.layer + 1))
    if layer != job.layer + 1 or layer > job.plan.layers:
        return answers.refuse("no_such_layer", layer=layer, layers=job.plan.layers)
    keys = tuple(part.key for part in job.open_parts())
    if keys and not insisted:
        return answers.ask_yes_no(command, at_utc, "layer_open", parts=keys)
    return answers.did((ev.LayerStarted(at_utc=at_utc, layer=layer),), "layer", layer=layer)
