"""Short forms for building outcomes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from bayhelper.decide.outcome import Outcome
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Effect, Say, Tone, Value
from bayhelper.terms.events import Event, QuestionAsked
from bayhelper.terms.saying import Urgency

ANSWERS = frozenset({"yes", "no", "insist", "choose_panel"})
"""Commands that answer a question."""


def text_slot(command: Command, name: str) -> str:
    """A slot that holds text, or ''."""
    value = command.slots.get(name, "")
    return value if isinstance(value, str) else ""


def number_slot(command: Command, name: str, default: float = 0.0) -> float:
    """A slot that holds a number, or the default."""
    value = command.slots.get(name, default)
    return float(value) if isinstance(value, int | float) else default


def did(
    events: Iterable[Event], topic: str, urgency: Urgency | None = None, **params: Value
) -> Outcome:
    """Facts, and a sentence that answers; with an urgency, its tone comes first."""
    return Outcome(tuple(events), (Say(topic, params, urgency),))


def noted(*events: Event) -> Outcome:
    """Facts, and only a small tone: nothing needs to be said."""
    return Outcome(events, (Tone("noted"),))


def answer(topic: str, **params: Value) -> Outcome:
    """A sentence, and nothing to record but that it was said."""
    return Outcome((), (Say(topic, params),))


def refuse(topic: str, **params: Value) -> Outcome:
    """A refusal that says what is wrong and what to do."""
    return Outcome((), (Say(topic, params, kind="refusal"),))


def ask_to_insist(command: Command, at_utc: datetime, topic: str, **params: Value) -> Outcome:
    """A guard: says what is wrong and how to insist, and remembers what was wanted."""
    question = QuestionAsked(
        at_utc=at_utc, topic=topic, command=command.name, slots=command.slots, answer="insist"
    )
    return Outcome((question,), (Say(topic, params, kind="refusal"),))


def ask_yes_no(command: Command, at_utc: datetime, topic: str, **params: Value) -> Outcome:
    """A question that 'yes' or 'no' settles."""
    question = QuestionAsked(
        at_utc=at_utc, topic=topic, command=command.name, slots=command.slots, answer="yes_no"
    )
    return Outcome((question,), (Say(topic, params, kind="question"),))


def ask_which(command: Command, at_utc: datetime, topic: str, parts: tuple[str, str]) -> Outcome:
    """Which of two parts an act means that named none; settled by naming the panel."""
    question = QuestionAsked(
        at_utc=at_utc,
        topic=topic,
        command=command.name,
        slots=command.slots,
        answer="which",
        choices=parts,
    )
    return Outcome((question,), (Say(topic, {"parts": parts}, kind="question"),))


def with_first(events: Iterable[Event], outcome: Outcome) -> Outcome:
    """The same outcome with more facts before its own."""
    return Outcome((*events, *outcome.events), outcome.effects, outcome.command)


def with_last(outcome: Outcome, events: Iterable[Event]) -> Outcome:
    """The same outcome with more facts after its own."""
    return Outcome((*outcome.events, *events), outcome.effects, outcome.command)


def also(outcome: Outcome, *effects: Effect) -> Outcome:
    """The same outcome with more effects after its own."""
    return Outcome(outcome.events, (*outcome.effects, *effects), outcome.command)
