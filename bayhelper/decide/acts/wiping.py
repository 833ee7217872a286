"""Off with the product: trial wipes, levelling, buffing, and more time."""

from __future__ import annotations

from datetime import datetime, timedelta

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.acts.lapping import laps, leaving_bare
from bayhelper.decide.acts.learning import learn
from bayhelper.decide.job.clocks import best_at_utc, closing_at_utc, trial_at_utc
from bayhelper.decide.job.fold import apply_events
from bayhelper.decide.job.seams import leaving, unwiped_seams
from bayhelper.decide.job.setting import trial_cure
from bayhelper.decide.job.small_parts import included
from bayhelper.decide.job.state import Job, Part
from bayhelper.decide.job.targets import fitting
from bayhelper.decide.job.walking import in_walking_order
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.choices import Stage
from bayhelper.terms.saying import Saying
from bayhelper.terms.slots import ALL_ROUND, HALF, MINUTES, PANEL, RESULT
from bayhelper.terms.subjects import wiping as say
from bayhelper.terms.subjects.asking import UnwipedReply

MORE_MIN = 1.0
"""So much longer a panel gets when no time is said, minutes (chosen, no source)."""


def _on(asked: Asked, *states: str) -> list[Part]:
    """The parts meant by panel and half that are in one of the states."""
    return [
        part
        for part in asked.job.parts_of(asked.panel)
        if part.state in states and asked.half in ("", part.half)
    ]


def _with_small(job: Job, parts: list[Part], *states: str) -> list[Part]:
    """Before the parts of a panel, the small ones that were done with it and are in a state."""
    return [*included(job, parts[0].panel, *states), *parts] if parts else []


def _to_try(asked: Asked) -> list[Part]:
    """Covered parts that a trial wipe can mean; those due for one before all others."""
    job, at_utc = asked.job, asked.at_utc
    if asked.panel:
        return _on(asked, "covered")
    waiting = [part for part in job.open_own_parts() if part.state == "covered"]
    waiting.sort(key=lambda part: (best_at_utc(part) or at_utc, part.key))
    trials = [(trial_at_utc(part, job.day_window is not None), part) for part in waiting]
    due = [part for trial_utc, part in trials if trial_utc is not None and trial_utc <= at_utc]
    return due or waiting


def trial(asked: Asked) -> Outcome:
    """A trial wipe and how it went; without a panel, the one that is due is meant.

    When several could be meant, the two that are due first are named, once.
    """
    job, at_utc = asked.job, asked.at_utc
    waiting = _to_try(asked)
    if not waiting:
        return answers.answer(say.NothingToTryRefusal(panel=asked.panel))
    if len(waiting) > 1:
        either = (waiting[0].key, waiting[1].key)
        return answers.ask_which(asked, say.WhichPanelQuestion(parts=either), either)
    made = _made(asked, waiting[0])
    learned, sayings = learn(job, apply_events(job, (made,)), made)
    after = apply_events(job, (made, *learned)).part(made.panel, made.half)
    called = _called(after, at_utc)
    outcome = answers.did((made, *learned, *called), _told(made, after, at_utc))
    return answers.also(outcome, *sayings)


def _made(asked: Asked, part: Part) -> ev.TrialMade:
    since_utc = part.coat.covered_at_utc or asked.at_utc
    cure_s, from_first_s, mean_rate = trial_cure(asked.job, part, asked.at_utc)
    return ev.TrialMade(
        at_utc=asked.at_utc,
        panel=part.panel,
        half=part.half,
        result=RESULT.of(asked.command),
        covered_for_s=(asked.at_utc - since_utc).total_seconds(),
        cure_s=round(cure_s, 1),
        from_first_s=round(from_first_s, 1),
        rate=round(mean_rate, 4),
        by=asked.by,
    )


def _told(made: ev.TrialMade, after: Part, at_utc: datetime) -> Saying:
    panel, half = made.panel, made.half
    match made.result:
        case "wet":
            again_utc = trial_at_utc(after)
            again_in_s = max(0.0, (again_utc - at_utc).total_seconds()) if again_utc else 0.0
            return say.TrialWetReply(panel=panel, half=half, again_in_s=again_in_s)
        case "clean":
            return say.TrialCleanReply(panel=panel, half=half, covered_for_s=made.covered_for_s)
        case "grabbing":
            return say.TrialGrabbingReply(panel=panel, half=half)


def _called(part: Part, at_utc: datetime) -> tuple[ev.Event, ...]:
    """The alert that a trial made due at this instant: its answer says so, with the tone of it."""
    for alert, due_utc in (("closing", closing_at_utc(part)), ("wipe_now", best_at_utc(part))):
        if due_utc == at_utc:
            raised = ev.AlertRaised(at_utc=at_utc, alert=alert, subject=part.key, due_at_utc=at_utc)
            return (raised,)
    return ()


def _covered_assumed(part: Part, at_utc: datetime) -> ev.Covered:
    started_utc = part.coat.started_at_utc or at_utc
    return ev.Covered(
        at_utc=min(at_utc, started_utc + timedelta(seconds=part.coat.usual_s)),
        panel=part.panel,
        half=part.half,
        layer=part.layer,
        assumed=True,
    )


def levelled(asked: Asked) -> Outcome:
    """The product is off the panel, small parts done with it included.

    A forgotten 'covered' is worked out.
    """
    panel, at_utc = asked.panel, asked.at_utc
    events: list[ev.Event] = []
    for part in _with_small(asked.job, _on(asked, "laying", "covered"), "covered"):
        if part.state == "laying":
            events.append(_covered_assumed(part, at_utc))
        events.append(ev.Levelled(at_utc=at_utc, panel=part.panel, half=part.half, by=asked.by))
    if not events:
        return answers.answer(say.NotCoveredRefusal(panel=panel))
    if ALL_ROUND.given(asked.command):
        events += laps(asked, "wiping")
    return answers.did(events, say.LevelledReply(panel=panel, half=asked.half))


def buffed(asked: Asked) -> Outcome:
    """Buffed with the plush towel; the panel is left, so its seams must not be bare."""
    job, panel, at_utc, by = asked.job, asked.panel, asked.at_utc, asked.by
    events: list[ev.Event] = []
    mine = _on(asked, "covered", "levelled")
    last = all(p in mine or p.state in ("buffed", "done") for p in job.parts_of(panel))
    if mine and last and not asked.insisted and leaving(job, panel):
        return leaving_bare(asked, panel)
    for part in _with_small(job, mine, "covered", "levelled"):
        if part.state == "covered":
            events.append(ev.Levelled(at_utc=at_utc, panel=part.panel, half=part.half, by=by))
        events.append(ev.Buffed(at_utc=at_utc, panel=part.panel, half=part.half, by=by))
    if not events:
        return answers.answer(say.NotCoveredRefusal(panel=panel))
    outcome = answers.did(events, say.BuffedReply(panel=panel, half=asked.half))
    left = unwiped_seams(apply_events(job, events), panel) if last else ()
    if not left:
        return outcome
    walked = in_walking_order(job, left, by)
    seams = tuple(seam.id for seam in walked)
    return answers.also(outcome, UnwipedReply(panel=panel, seams=seams))


def more_time(asked: Asked) -> Outcome:
    """The panel gets longer; a minute when no time is said."""
    minutes = MINUTES.given(asked.command)
    extra_s = 60 * (MORE_MIN if minutes is None else minutes)
    parts = _on(asked, "laying", "covered")
    if not parts:
        return answers.answer(say.NotCoveredRefusal(panel=asked.panel))
    events = [
        ev.TimeExtended(at_utc=asked.at_utc, panel=p.panel, half=p.half, extra_s=extra_s)
        for p in _with_small(asked.job, parts, "covered")
    ]
    return answers.did(events, say.MoreTimeReply(panel=parts[0].panel, extra_s=extra_s))


COATING = frozenset[Stage]({"coating"})
"""All of this belongs to one stage."""

ACTS = (
    Act(
        "trial",
        "A trial wipe and how it went.",
        trial,
        needs=(RESULT,),
        may=(PANEL, HALF),
        stages=COATING,
        when=lambda job: any(part.state == "covered" for part in job.open_parts()),
        panels=lambda job: fitting(job, "level"),
        taken_back="Trial wipe",
    ),
    Act(
        "levelled",
        "The panel is levelled.",
        levelled,
        needs=(PANEL,),
        may=(HALF, ALL_ROUND),
        stages=COATING,
        panels=lambda job: fitting(job, "cover", "level"),
        taken_back="Levelled",
    ),
    Act(
        "buffed",
        "The panel is buffed.",
        buffed,
        needs=(PANEL,),
        may=(HALF,),
        stages=COATING,
        panels=lambda job: fitting(job, "level", "buff"),
        taken_back="Buffed",
    ),
    Act(
        "more_time",
        "Give the panel longer.",
        more_time,
        needs=(PANEL,),
        may=(MINUTES,),
        stages=COATING,
        panels=lambda job: fitting(job, "cover", "level"),
        taken_back="More time",
    ),
)
"""What can be asked for while product comes off."""
