"""Answers to a question of the helper: yes, no, 'do it all the same', or which panel is meant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.job.state import Job, Question
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.choices import Settled
from bayhelper.terms.command import Command
from bayhelper.terms.saying import topic_of
from bayhelper.terms.slots import HALF, PANEL
from bayhelper.terms.subjects import talk as say
from bayhelper.terms.subjects.talk import DidYouMeanQuestion

CONFIRMED = frozenset({topic_of(DidYouMeanQuestion)})
"""Questions after which a yes settles what was meant, and overrules nothing."""


def takes(question: Question) -> frozenset[str]:
    """What may be said to a question: a warning takes more than a yes, a choice a name."""
    if question.answer == "insist":
        return frozenset({"insist", "no"})
    if question.answer == "which":
        return frozenset({"choose_panel", "no"})
    if question.topic in CONFIRMED:
        return frozenset({"yes", "no"})
    return frozenset({"yes", "no", "insist"})


def yes(asked: Asked) -> Outcome:
    """What was asked about is done."""
    question = asked.job.question
    if question is None:
        return answers.answer(say.NothingAskedReply())
    return _do(asked, question, "yes", insisted=question.topic not in CONFIRMED)


def insist(asked: Asked) -> Outcome:
    """What was warned of is done all the same."""
    question = asked.job.question
    if question is None:
        return answers.answer(say.NothingAskedReply())
    return _do(asked, question, "insisted", insisted=question.topic not in CONFIRMED)


def no(asked: Asked) -> Outcome:
    """What was asked about is not done."""
    if asked.job.question is None:
        return answers.answer(say.NothingAskedReply())
    settled = ev.QuestionSettled(at_utc=asked.at_utc, answer="no")
    return answers.did((settled,), say.LeftAloneReply())


def choose_panel(asked: Asked) -> Outcome:
    """The panel is named that an act meant."""
    question = asked.job.question
    if question is None:
        return answers.answer(say.NothingAskedReply())
    named = {
        name: asked.command.slots[name] for name in ("panel", "half") if name in asked.command.slots
    }
    chosen = replace(question, slots=question.slots | named)
    return _do(asked, chosen, "chosen", insisted=False)


def _do(asked: Asked, question: Question, answer: Settled, *, insisted: bool) -> Outcome:
    waiting = Command(question.command, dict(question.slots), said=asked.command.said)
    settled = ev.QuestionSettled(at_utc=asked.at_utc, answer=answer)
    return answers.with_first((settled,), asked.carry_out(waiting, insisted))


def _taken(name: str) -> Callable[[Job], bool]:
    return lambda job: job.question is not None and name in takes(job.question)


def _choices(job: Job) -> frozenset[str]:
    """What 'which?' can be answered with; the panel alone where only one part of it is meant."""
    if job.question is None:
        return frozenset()
    panels = [key.partition("/")[0] for key in job.question.choices]
    alone = {panel for panel in panels if panels.count(panel) == 1}
    return frozenset(job.question.choices) | alone


ACTS = (
    Act("yes", "Yes, to a question.", yes, when=_taken("yes"), answers=True),
    Act("no", "No, to a question.", no, when=_taken("no"), answers=True),
    Act(
        "choose_panel",
        "The panel that is meant, to 'which?'.",
        choose_panel,
        needs=(PANEL,),
        may=(HALF,),
        when=_taken("choose_panel"),
        panels=_choices,
        answers=True,
    ),
    Act("insist", "Do it all the same.", insist, when=_taken("insist"), answers=True),
)
"""What answers a question."""
