"""Typed lines as a full way in: no address is needed, and only a sure reading is accepted."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from bayhelper.hear.operating_point import CLEARLY_NEARER
from bayhelper.terms.command import NearMiss
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Hearing, Utterance

NEAR_ENOUGH = 0.6
"""Cost up to which a typed line is taken as its nearest phrase: as much as the ear allows, see
hear.operating_point.OperatingPoint.edits."""


def typed_utterances(lines: Iterable[str]) -> Iterator[Utterance]:
    """One utterance a line that is not empty."""
    for line in lines:
        if text := line.strip():
            yield Utterance(None, 0.0, 0.0, "typed", typed=text)


def read_typed(
    utterance: Utterance, offer: Offer, words_of: Callable[[str], Sequence[str]]
) -> Hearing:
    """The command that a line means; `words_of` turns it into plain words."""
    words = tuple(words_of(utterance.typed))
    match = offer.match(words)
    sure = (
        match.command is not None
        and match.edits <= NEAR_ENOUGH
        and match.rival_edits - match.edits >= CLEARLY_NEARER
    )
    near = NearMiss(
        heard=" ".join(words),
        nearest=match.phrase,
        command=match.command,
        edits=match.edits,
        why="no phrase that is allowed now is near enough",
    )
    return Hearing(
        utterance=utterance,
        text=" ".join(words),
        command=match.command,
        accepted=sure,
        why="typed" if sure else near.why,
        confidence=1.0 if sure else 0.0,
        engine="typed",
        addressed=True,
        near=None if sure else near,
        words=words,
    )
