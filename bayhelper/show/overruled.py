"""What was done although the helper warned: read from the questions and their answers."""

from __future__ import annotations

from collections.abc import Iterator

from bayhelper.decide.job.state import Job
from bayhelper.show.times import Times
from bayhelper.terms import events as ev

WARNED = {
    "dirty_pad": "fresh polish on a dirty pad",
    "gentle_panel": "machined although it is flagged",
    "not_prepped": "coated without a panel wipe",
    "prep_stale_guard": "coated on a stale panel wipe",
    "leaving_bare": "left with bare seams",
    "recoat_early": "coated again before the sheet's time",
    "recoat_late": "coated again after the sheet's time",
    "close_open": "closed with something open",
    "pause_open": "paused with panels open",
    "layer_open": "next layer begun with panels open",
}
"""What was done all the same, by the topic of the warning."""


def plain(name: str) -> str:
    """The id of a part as words: 'bonnet, left half'."""
    panel, _, half = name.replace("_", " ").partition("/")
    return f"{panel}, {half} half" if half else panel


def overruled(job: Job, times: Times) -> list[str]:
    """One line for each warning that somebody insisted against, with what was left open."""
    return [
        f"{times.clock(decision.at_utc)}  {', '.join(_told(question, decision))}"
        for question, decision in _insisted(job)
    ] or ["nothing"]


def _insisted(job: Job) -> Iterator[tuple[ev.QuestionAsked, ev.Decision]]:
    asked: ev.QuestionAsked | None = None
    for decision in job.decisions:
        settled = [e for e in decision.events if isinstance(e, ev.QuestionSettled)]
        agreed = any(event.answer in ("yes", "insisted") for event in settled)
        done = decision.number not in job.undone
        if asked is not None and agreed and done and asked.topic in WARNED:
            yield asked, decision
        questions = [e for e in decision.events if isinstance(e, ev.QuestionAsked)]
        asked = questions[-1] if questions else None if settled else asked


def _told(question: ev.QuestionAsked, decision: ev.Decision) -> Iterator[str]:
    panel = question.slots.get("panel")
    if isinstance(panel, str):
        yield plain(panel)
    yield WARNED[question.topic]
    by = question.slots.get("by")
    if isinstance(by, str):
        yield by
    for event in decision.events:
        if isinstance(event, ev.JobClosed):
            yield from (f"{plain(part)} open" for part in event.left_open)
            for word, seams in (("bare", event.bare), ("unwiped", event.unwiped)):
                yield from (f"{plain(seam.replace('+', ' to '))} {word}" for seam in seams)
