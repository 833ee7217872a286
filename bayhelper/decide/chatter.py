"""How much is said: in a quiet shop a short tone takes the place of an acknowledgement."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.decide.outcome import Outcome
from bayhelper.terms.effects import Chatter, Effect, Say, Tone

READ_BACK = frozenset({"air", "humidity", "panel_temp", "film", "more_time", "layer"})
"""Acknowledgements of a number: numbers are always read back."""
ALWAYS_SAID = READ_BACK | {"caution", "undone", "closed", "asleep"}
"""What is said at every level: safety, what was taken back, and what ends listening."""


def at_level(outcome: Outcome, chatter: Chatter) -> Outcome:
    """The outcome with as much said as the shop has set; the facts are the same at each level.

    Quiet leaves alerts, questions, refusals and answers; why a thing is so, which the teaching
    level adds, is a matter of words and not of deciding.
    """
    if chatter != "quiet":
        return outcome
    effects: list[Effect] = []
    for effect in outcome.effects:
        short = Tone("noted") if _acknowledges(outcome, effect) else effect
        if short not in effects:
            effects.append(short)
    return replace(outcome, effects=tuple(effects))


def _acknowledges(outcome: Outcome, effect: Effect) -> bool:
    """Whether this only says that something was noted: an answer notes nothing."""
    return (
        isinstance(effect, Say)
        and bool(outcome.events)
        and effect.kind == "reply"
        and effect.urgency is None
        and effect.topic not in ALWAYS_SAID
    )
