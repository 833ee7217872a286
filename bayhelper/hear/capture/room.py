"""All microphones together: of those that hear the same utterance, the best one's is taken."""

from __future__ import annotations

from collections.abc import Sequence

from bayhelper.hear.capture.caught import Caught, LineSpan, Pause, best_of
from bayhelper.hear.capture.listening import Listening, MakePointer, plain_pointer
from bayhelper.hear.capture.microphone import Heard, Wanted

SAME_S = 0.4
"""So long the best microphone waits for the others to end the same utterance; our own choice, half
of the end-pointer's patience."""


class Room:
    """The microphones of a bay, each cut into utterances by itself; see best_of."""

    def __init__(self, wanted: Sequence[Wanted], make_pointer: MakePointer = plain_pointer) -> None:
        self._ears = [Listening(one, make_pointer) for one in wanted or (Wanted(),)]
        self._waiting: list[Caught] = []

    @property
    def blind(self) -> bool:
        """Whether no microphone can tell the end of speech."""
        return all(ear.blind for ear in self._ears)

    @property
    def floor_db(self) -> float:
        """The lowest noise at any microphone."""
        return min(ear.floor_db for ear in self._ears)

    def sounding(self, span: LineSpan) -> None:
        for ear in self._ears:
            ear.sounding(span)

    def end(self, pause: int) -> None:
        self._ears[0].end(pause)

    def feed(self, heard: Heard) -> list[Caught | Pause]:
        """More sound of one microphone; gives what is settled, in the order it was spoken.

        Pauses are told of a microphone that is alone: of several, the best waits for the slowest.
        """
        found = self._ears[heard.microphone].feed(heard.pcm, heard.end_s)
        self._waiting += [one for one in found if isinstance(one, Caught)]
        pauses = [one for one in found if isinstance(one, Pause) and len(self._ears) == 1]
        return [*self._settled(heard), *pauses]

    def _settled(self, heard: Heard) -> list[Caught]:
        if not self._waiting:
            return []
        first = min(self._waiting, key=lambda one: one.closed_s)
        others = any(ear.speaking for ear in self._ears)
        if len(self._ears) > 1 and others and heard.end_s - first.closed_s < SAME_S:
            return []
        waiting, self._waiting = self._waiting, []
        return best_of(waiting)
