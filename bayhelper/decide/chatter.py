"""How much is said: in a quiet shop a short tone takes the place of an acknowledgement."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.decide.outcome import Outcome
from bayhelper.terms.effects import Chatter, Effect, Tone
from bayhelper.terms.saying import Saying


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
        isinstance(effect, Saying)
        and bool(outcome.events)
        and effect.manner == "reply"
        and effect.urgency is None
        and not effect.always_said
    )
