"""Does one more panel fit? Who would wipe what when, from the clocks and habits of the job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.acts.asking import ask_next
from bayhelper.decide.job import laying
from bayhelper.decide.job.clocks import (
    best_at_utc,
    covered_at_utc,
    earliest_at_utc,
    latest_at_utc,
)
from bayhelper.decide.job.recoat import by_recoat
from bayhelper.decide.job.seams import own_panels
from bayhelper.decide.job.setting import window_now
from bayhelper.decide.job.small_parts import included
from bayhelper.decide.job.state import Job, Part
from bayhelper.decide.job.targets import to_lay
from bayhelper.decide.outcome import Outcome
from bayhelper.reckon.lookahead import MOST_TASKS, STEP_S, Laying, Task, schedule, start_in_s
from bayhelper.reckon.window import usual_lay_down_s
from bayhelper.terms.body import Panel
from bayhelper.terms.slots import PANEL
from bayhelper.terms.subjects import asking as say

SLACK = 0.1
"""Share of the time between best and latest within which a wipe is planned to begin."""
LEVEL_S_PER_M2 = 45.0
"""Levelling a square metre, until the person's own time is known (common practice, no source)."""
REACH_S = 10.0
"""Walking to a panel and taking a towel (common practice, no source)."""
ACROSS_S = 8.0
"""Walking round to the other side takes so much longer: ten metres (common practice, no source)."""
HALVE = 0.7
"""A panel is laid in halves where laying it and waiting for its best time take up more than this
share of the time between best and latest."""
MOST_PEOPLE = 2
"""So many people are planned for: more do not fit round a car (common practice, no source)."""
MOST_OPEN = MOST_TASKS - 2
"""So many open panels are looked at, those that come due first; the new one needs two places."""
MOST_CHOICES = 4
"""So many panels are tried when none is named."""


@dataclass(frozen=True)
class Work:
    """What has to be wiped, and from when on everybody is free."""

    people: tuple[str, ...]
    """Names, or one empty name."""
    tasks: tuple[Task, ...]
    """Open parts, those due first first."""
    free_s: tuple[float, ...]
    """Of the people, seconds from now."""


def people_of(job: Job, by: str) -> tuple[str, ...]:
    """Who works: the technicians of the job, the one who asks first; '' when nobody is named."""
    others = [name for name in job.technicians if name != by]
    known = [by] if by or not others else []
    return (*known, *others)[:MOST_PEOPLE]


def level_s(job: Job, part: Part, who: str) -> float:
    """How long this person takes to level a part, the way there included, seconds.

    Learned from the time between 'levelled' and 'buffed' of the parts that he laid himself: as long
    as one towel takes, so does the other (common practice, no source).
    """
    measured = [
        (
            laying.area_m2(job, one.panel, one.half),
            (one.coat.buffed_at_utc - one.coat.levelled_at_utc).total_seconds(),
        )
        for one in job.parts.values()
        if one.coat.by == who
        and one.coat.levelled_at_utc
        and one.coat.buffed_at_utc
        and not one.coat.included_in
    ]
    m2 = laying.area_m2(job, part.panel, part.half)
    return REACH_S + usual_lay_down_s(m2, LEVEL_S_PER_M2, measured)


def work_of(job: Job, by: str, at_utc: datetime) -> Work:
    """The open parts as tasks, and who is still laying one down.

    A part that is past its latest is wanted at once. Small parts are wiped with their panel, which
    is therefore wanted when they are.
    """
    people = people_of(job, by)
    free_s = dict.fromkeys(people, 0.0)
    timed: list[tuple[datetime, Task]] = []
    for part in job.open_own_parts():
        earliest, covered, best = earliest_at_utc(part), covered_at_utc(part), best_at_utc(part)
        latest = latest_at_utc(part)
        if earliest is None or latest is None or covered is None or best is None:
            continue
        small = included(job, part.panel, "covered")
        best = min([best, *(at for one in small if (at := best_at_utc(one)) is not None)])
        takes_s = tuple(level_s(job, part, who) for who in people)
        opens_s, best_s, latest_s = (_from_now(at_utc, one) for one in (earliest, best, latest))
        closes_s = max(opens_s, _aimed_s(best_s, latest_s))
        if closes_s < 0:
            opens_s = closes_s = 0.0
        side = _side(job, part.panel)
        timed.append((latest, Task(part.key, opens_s, closes_s, takes_s, side=side)))
        if part.state == "laying" and part.coat.by in free_s:
            free_s[part.coat.by] = max(free_s[part.coat.by], _from_now(at_utc, covered))
    timed.sort(key=lambda one: one[0])
    tasks = tuple(task for _, task in timed[:MOST_OPEN])
    return Work(people, tasks, tuple(free_s.values()))


def in_order(job: Job) -> tuple[Panel, ...]:
    """Panels that may be laid now: upper before lower, next to the panel just worked on first.

    For a further layer, what is too late for it first.
    """
    ready = [
        panel
        for panel in own_panels(job)
        if (part := laying.part_to_lay(job, panel.id, "")) and part.state in laying.READY
    ]
    last = _last_worked(job)
    beside = {panel for seam in job.body.seams_of(last) for panel in (seam.a, seam.b)}
    walked = sorted(ready, key=lambda p: (p.height == "lower", p.id not in beside))
    return by_recoat(job, walked)


def ask_fits(asked: Asked) -> Outcome:
    """Whether a panel may be laid down now; if not, when, and what comes due before.

    Where laying it down whole would eat up its window, a half is offered. What takes too long even
    then may still be laid, to be wiped as soon as it can be.
    """
    job, by, at_utc = asked.job, asked.by, asked.at_utc
    work = work_of(job, by, at_utc)
    ready = [panel.id for panel in in_order(job)[:MOST_CHOICES]]
    panels = [asked.panel] if asked.panel else ready
    if not panels:
        return ask_next(asked)
    alone = schedule(work.tasks, work.free_s, ACROSS_S)
    if alone is None:
        return answers.answer(say.LevelFirstReply(part=work.tasks[0].name))
    starts: list[tuple[float, str]] = []  # seconds from now, and the part
    for panel in panels:
        found = _laying(job, work, panel, by, at_utc)
        start_s = None if found is None else start_in_s(found, work.tasks, work.free_s, ACROSS_S)
        if found is not None and start_s is not None:
            starts.append((start_s, found.name))
            if start_s < STEP_S:
                break
    first = work.tasks[0].name if work.tasks else ""
    if not starts:
        return answers.answer(say.LevelFirstReply(part=first))
    in_s, part = min(starts, key=lambda start: start[0])
    first = next((slot.task.name for slot in alone), "")
    return answers.answer(say.FitsReply(part=part, in_s=in_s, first=first))


def clash(before: Job, after: Job, panel: str, by: str, at_utc: datetime) -> str:
    """The part in whose way a lay-down is that has just begun; '' when everything fits.

    That is the most urgent one without which the rest would fit. Nothing is said where the open
    parts did not fit before.
    """
    old, new = work_of(before, by, at_utc), work_of(after, by, at_utc)
    if not _fits(old, old.tasks) or _fits(new, new.tasks):
        return ""
    others = [task for task in new.tasks if task.name.partition("/")[0] != panel]
    for task in others:
        rest = [one for one in new.tasks if one is not task]
        if _fits(new, rest):
            return task.name
    return others[0].name if others else ""


def ask_all_off(asked: Asked) -> Outcome:
    """The order in which to wipe everything now: what is nearest to grabbing first."""
    open_parts = asked.job.open_parts()
    parts = [(latest, p) for p in open_parts if (latest := latest_at_utc(p)) is not None]
    parts.sort(key=lambda one: (one[0], not one[1].coat.included_in, one[1].key))
    return answers.answer(say.AllOffReply(parts=tuple(part.key for _, part in parts)))


def _fits(work: Work, tasks: Sequence[Task]) -> bool:
    return schedule(tasks, work.free_s, ACROSS_S) is not None


def _side(job: Job, panel_id: str) -> str:
    panel = job.body.panel(panel_id)
    return panel.side if panel is not None and panel.side != "middle" else ""


def _aimed_s(best_s: float, latest_s: float) -> float:
    """Until when a wipe is planned: a little after the best time, never at the uncertain edge."""
    return best_s + max(0.0, latest_s - best_s) * SLACK


def _laying(job: Job, work: Work, panel: str, by: str, at_utc: datetime) -> Laying | None:
    part, window = laying.part_to_lay(job, panel, ""), window_now(job, panel, at_utc)
    if part is None or window is None:
        return None
    lays_s = laying.usual_s(job, panel, part.half, by)
    known = job.body.panel(panel)
    halve_s = window.best_s + HALVE * (window.latest_s - window.best_s)
    if lays_s + window.best_s > halve_s and known and known.halves and not part.half:
        part = Part(panel=panel, half=known.halves[0], state=part.state, layer=part.layer)
        lays_s = laying.usual_s(job, panel, part.half, by)
    opens_s, best_s = lays_s + window.earliest_s, lays_s + window.best_s
    closes_s = max(opens_s, _aimed_s(min(best_s, window.latest_s), window.latest_s))
    return Laying(
        name=part.key,
        who=work.people.index(by) if by in work.people else 0,
        lays_s=lays_s,
        opens_after_s=window.earliest_s,
        closes_after_s=closes_s,
        takes_s=tuple(level_s(job, part, who) for who in work.people),
        side=_side(job, panel),
    )


def _last_worked(job: Job) -> str:
    """The panel that was levelled last, or else laid last."""
    own = [part for part in job.parts.values() if not part.coat.included_in]
    levelled = [(p.coat.levelled_at_utc, p.panel) for p in own if p.coat.levelled_at_utc]
    if levelled:
        return max(levelled)[1]
    started = [(p.coat.started_at_utc, p.panel) for p in own if p.coat.started_at_utc]
    return max(started)[1] if started else ""


def _from_now(at_utc: datetime, instant_utc: datetime) -> float:
    return (instant_utc - at_utc) / timedelta(seconds=1)


ACTS = (
    Act(
        "ask_fits",
        "Whether one more panel fits.",
        ask_fits,
        may=(PANEL,),
        stages=frozenset({"coating"}),
        panels=to_lay,
        keeps_question=True,
    ),
    Act(
        "ask_all_off",
        "In which order to wipe everything now.",
        ask_all_off,
        stages=frozenset({"coating"}),
        when=lambda job: bool(job.open_parts()),
        keeps_question=True,
    ),
)
"""What can be asked about one panel more, or fewer."""
