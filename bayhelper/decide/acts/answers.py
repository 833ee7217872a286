"""Short forms for building outcomes."""

from __future__ import annotations

from collections.abc import Iterable

from bayhelper.decide.acts.act import Asked
from bayhelper.decide.outcome import Outcome
from bayhelper.terms.choices import AnswerKind
from bayhelper.terms.effects import Effect, Tone
from bayhelper.terms.events import Event, QuestionAsked
from bayhelper.terms.saying import Saying


def did(events: Iterable[Event], saying: Saying) -> Outcome:
    """Facts, and a sentence that answers."""
    return Outcome(tuple(events), (saying,))


def noted(*events: Event) -> Outcome:
    """Facts, and only a small tone: nothing needs to be said."""
    return Outcome(events, (Tone("noted"),))


def answer(saying: Saying) -> Outcome:
    """A sentence, and nothing to record but that it was said."""
    return Outcome((), (saying,))


def ask_to_insist(asked: Asked, guard: Saying) -> Outcome:
    """A guard: says what is wrong and how to insist, and remembers what was wanted."""
    return _ask(asked, guard, "insist")


def ask_yes_no(asked: Asked, question: Saying) -> Outcome:
    """A question that 'yes' or 'no' settles."""
    return _ask(asked, question, "yes_no")


def ask_which(asked: Asked, question: Saying, parts: tuple[str, str]) -> Outcome:
    """Which of two parts an act means that named none; settled by naming the panel."""
    return _ask(asked, question, "which", parts)


def _ask(
    asked: Asked, question: Saying, answered_by: AnswerKind, choices: tuple[str, ...] = ()
) -> Outcome:
    waits = QuestionAsked(
        at_utc=asked.at_utc,
        topic=question.topic,
        command=asked.command.name,
        slots=asked.command.slots,
        answer=answered_by,
        choices=choices,
    )
    return Outcome((waits,), (question,))


def with_first(events: Iterable[Event], outcome: Outcome) -> Outcome:
    """The same outcome with more facts before its own."""
    return Outcome((*events, *outcome.events), outcome.effects, outcome.command)


def with_last(outcome: Outcome, events: Iterable[Event]) -> Outcome:
    """The same outcome with more facts after its own."""
    return Outcome((*outcome.events, *events), outcome.effects, outcome.command)


def also(outcome: Outcome, *effects: Effect) -> Outcome:
    """The same outcome with more effects after its own."""
    return Outcome(outcome.events, (*outcome.effects, *effects), outcome.command)
