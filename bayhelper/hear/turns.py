"""Whose turn it is: when words need no address, and what is taken while we speak ourselves."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from bayhelper.hear.capture.caught import Caught, LineSpan
from bayhelper.terms.utterance import Hearing

EDGE_S = 0.5
"""Echo, and an end-pointer that is not sure where words begin and end (chosen, no source)."""
LOST_S = 0.8
"""What begins so soon after our own words may have begun in them (chosen, no source)."""
OWN_WORDS = 3
"""So many words in a row that are also in our own line are ours (chosen, no source)."""


@dataclass(frozen=True)
class UnderReading:
    """What the decoder is busy with."""

    number: int
    """Comes back with the hearing."""
    caught: Caught
    """What is read."""
    begun_s: float
    """Steady seconds."""
    pause: int | None
    """Read at this pause, in case that it is the end; None for an utterance that has ended."""


class FollowOn:
    """When words need no address: after our reply, or after the button."""

    def __init__(self, follow_on_s: float) -> None:
        self._follow_on_s = follow_on_s
        self._opens_s = self._closes_s = self._ended_s = float("-inf")

    def open(self, at_s: float, ended_s: float) -> None:
        """From one instant on, until a while after another, steady seconds.

        Where people hear us, both are when our reply ended: what begins before is said over it.
        """
        if ended_s > self._ended_s:
            self._ended_s = ended_s
            self._opens_s, self._closes_s = at_s, ended_s + self._follow_on_s

    def holds(self, onset_s: float) -> bool:
        """Whether words that begin then need no address."""
        return self._opens_s <= onset_s <= self._closes_s


def spoken_over(
    hearing: Hearing, spans: tuple[LineSpan, ...], words_of: Callable[[str], Sequence[str]]
) -> Hearing:
    """The same, unless its words may be our own: those never command us.

    `words_of` turns our lines into plain words.
    """
    said = tuple(words_of(" ".join(span.text for span in spans)))
    if not hearing.addressed:
        hearing = replace(hearing, accepted=False, why="while we spoke, and not addressed")
    if _shares(hearing.words, said):
        return replace(hearing, accepted=False, addressed=False, why="our own voice")
    return hearing


def lies_inside(caught: Caught) -> bool:
    """Whether nothing but our own line need be in it."""
    return any(
        span.start_s <= caught.onset_s + EDGE_S and caught.ended_s <= span.end_s + EDGE_S
        for span in caught.over
    )


def is_not_ours_alone(caught: Caught) -> bool:
    """Whether somebody spoke over words of ours: it is louder than they come back, or longer."""
    words = any(span.text for span in caught.over)
    return words and (caught.over_echo or not lies_inside(caught))


def begins_at_our_end(caught: Caught, spans: Iterable[LineSpan]) -> bool:
    """Whether words of ours ended just before, so that its beginning may be lost in them."""
    ends = (span.end_s for span in spans if span.text)
    return not caught.over and any(0 <= caught.onset_s - end_s < LOST_S for end_s in ends)


def _shares(heard: tuple[str, ...], said: tuple[str, ...]) -> bool:
    """Whether all that was heard, or OWN_WORDS of it in a row, is in what we said."""
    count = min(OWN_WORDS, len(heard))
    if not count:
        return False
    runs = {said[at : at + count] for at in range(len(said))}
    return any(heard[at : at + count] in runs for at in range(len(heard) - count + 1))
