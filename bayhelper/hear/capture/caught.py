"""What microphones caught: utterances with their times, and what of ours sounded meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bayhelper.terms.utterance import Utterance

WORN_DB = 3.0
"""A headset is preferred to a louder microphone that is none, up to so much; our own choice."""


@dataclass(frozen=True)
class LineSpan:
    """A time in which our own voice sounds."""

    number: int
    """Which line of ours."""
    start_s: float
    """Steady seconds."""
    end_s: float
    """Steady seconds; infinite while it sounds."""
    text: str
    """The words."""


@dataclass(frozen=True)
class Caught:
    """One utterance, with the time it was spoken at."""

    utterance: Utterance
    """The sound."""
    onset_s: float
    """When the first word began, steady seconds, about."""
    ended_s: float
    """When the last word ended, steady seconds, about."""
    closed_s: float
    """When the end was noticed."""
    over: tuple[LineSpan, ...] = ()
    """Lines of ours that sounded meanwhile."""
    over_floor_db: float = 0.0
    """Level above the noise."""
    over_echo: bool = False
    """Whether it is louder than our own lines come back, so that somebody else spoke."""


@dataclass(frozen=True)
class Pause:
    """Somebody paused; if what was said so far is whole, it may end there."""

    number: int
    """Which pause; see Room.end."""
    caught: Caught
    """The same utterance as will be caught if nothing more is said."""


def best_of(caught: Sequence[Caught]) -> list[Caught]:
    """One of each group that was spoken at once: a headset's, else the clearest."""
    chosen: list[Caught] = []
    for one in sorted(caught, key=lambda one: one.onset_s):
        rival = next((known for known in chosen if _same(known, one)), None)
        if rival is None:
            chosen.append(one)
        elif _worth(one) > _worth(rival):
            chosen[chosen.index(rival)] = one
    return chosen


def _same(a: Caught, b: Caught) -> bool:
    shared_s = min(a.ended_s, b.ended_s) - max(a.onset_s, b.onset_s)
    shorter_s = max(0.1, min(a.ended_s - a.onset_s, b.ended_s - b.onset_s))
    return a.utterance.origin != b.utterance.origin and shared_s > shorter_s / 2


def _worth(one: Caught) -> float:
    return one.over_floor_db + (WORN_DB if one.utterance.speaker else 0.0)
