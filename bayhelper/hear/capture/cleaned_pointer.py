"""An end-pointer that hears its stream through a noise suppressor."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.hear.capture.denoise import OFF, open_suppressor
from bayhelper.hear.capture.endpoint import PATIENCE_S, RATE_HZ, Complete, EndPointer
from bayhelper.hear.capture.levels import CLEAN_BELOW_DB, range_db
from bayhelper.terms.ports import Suppressor
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Utterance

KEPT_S = 20.0
"""Of the sound before it is cleaned: the longest utterance, 15 s, with what a suppressor lags."""
ONSET_S = 0.4
"""How much of a beginning a network may take for noise where talk is faint; our own choice."""


class CleanedPointer:
    """An end-pointer that hears its stream through a suppressor, as do those who read after it."""

    def __init__(
        self,
        suppressor: Suppressor,
        patience_s: float,
        complete: Complete | None,
    ) -> None:
        """`patience_s` and `complete` are those of hear.capture.endpoint.EndPointer."""
        self._suppressor = suppressor
        self._complete = complete
        self._asked: tuple[Utterance, Utterance] | None = None
        asked = self._is_complete if complete is not None else None
        self._pointer = EndPointer(patience_s, complete=asked)
        self._raw = bytearray()
        self._dropped = 0
        self._ended = 0  # byte of the stream where the last utterance ended

    @property
    def speaking(self) -> bool:
        """Whether an utterance has begun and not ended."""
        return self._pointer.speaking

    def feed(self, block: bytes) -> list[Utterance]:
        self._raw += block
        spare = len(self._raw) - round(KEPT_S * RATE_HZ) * 2
        if spare > 0:
            del self._raw[:spare]
            self._dropped += spare
        return self._ranged(self._pointer.feed(self._suppressor.feed(block)))

    def finish(self) -> list[Utterance]:
        """The stream has ended: as EndPointer.finish, and the suppressor is closed."""
        found = self._ranged(self._pointer.feed(self._suppressor.finish()))
        self._suppressor.close()
        return found + self._ranged(self._pointer.finish())

    def _is_complete(self, utterance: Utterance) -> bool:
        if self._complete is None:
            return False
        if self._asked is None or self._asked[0] is not utterance:
            self._asked = utterance, self._with_range(utterance)
        return self._complete(self._asked[1])

    def _ranged(self, found: list[Utterance]) -> list[Utterance]:
        ranged = []
        for utterance in found:
            ranged.append(self._with_range(utterance))
            self._ended = round(utterance.end_s * RATE_HZ) * 2
        return ranged

    def _with_range(self, utterance: Utterance) -> Utterance:
        """With the range that its sound had before it was cleaned; where that is quiet, uncleaned.

        RNNoise takes the beginnings of words for noise when somebody talks far away.
        """
        ends = (round(at_s * RATE_HZ) * 2 for at_s in (utterance.start_s, utterance.end_s))
        start, end = (max(0, at - self._dropped) for at in ends)
        db = range_db(Sound(bytes(self._raw[start:end]), RATE_HZ))
        if db < CLEAN_BELOW_DB:
            return replace(utterance, range_db=db)
        start = max(0, self._ended - self._dropped, start - round(ONSET_S * RATE_HZ) * 2)
        return replace(
            utterance,
            sound=Sound(bytes(self._raw[start:end]), RATE_HZ),
            start_s=(start + self._dropped) / 2 / RATE_HZ,
            range_db=db,
        )


def open_pointer(
    patience_s: float | None = None,
    suppressor: str = OFF,
    complete: Complete | None = None,
) -> EndPointer | CleanedPointer:
    """An end-pointer behind the suppressor of that name; see EndPointer for the rest.

    Raises HearingError, see open_suppressor.
    """
    cleaner = open_suppressor(suppressor)
    patience_s = PATIENCE_S if patience_s is None else patience_s
    if cleaner is None:
        return EndPointer(patience_s, complete=complete)
    return CleanedPointer(cleaner, patience_s, complete)
