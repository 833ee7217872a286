"""From the sound of microphones to utterances that know whether our own voice lies in them."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Protocol

import numpy as np

from bayhelper.hear.capture.caught import Caught, LineSpan, Pause
from bayhelper.hear.capture.endpoint import FRAME_BYTES, FRAME_S, Complete, EndPointer
from bayhelper.hear.capture.levels import level_db
from bayhelper.hear.capture.microphone import Wanted
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Utterance

LEAD_S = 0.3
"""About so much of what lies before the first word is kept in an utterance: the 0.35 s of the
end-pointer less the frame or two in which it makes up its mind."""
TRAIL_S = 0.2
"""About so much of what lies behind the last word: the 0.25 s of the end-pointer, less the same."""
FALL_DB = 10.0
"""So far the sound falls when a prompt ends and nobody speaks over it; our own choice."""
OVER_FLOOR_DB = 4.0
"""So near the noise the prompt has died away, however little that is below it; our own choice."""
FALL_WITHIN_S = 0.4
"""If it has not fallen by then, somebody is speaking. Our own choice."""
FLOOR_FRAMES = 300
"""The noise floor is looked for in the last ten seconds, longer than a command; our own choice."""
FLOOR_PERCENT = 15
"""The percentile of their levels that is the floor; low, because most of them may be speech."""
BLIND_S = 20.0
"""Speech without an end for so long is no speech: noise hides every end. Longer than the 15 s after
which the end-pointer ends one by itself."""
SIGHT_S = 1.0
"""So much quiet shows that ends are heard again; our own choice."""
OVER_ECHO_DB = 6.0
"""So much louder than our own lines usually come back: twice the amplitude; our own choice."""
OVER_ECHO_S = 0.3
"""So long it has to be so loud before somebody else is taken to speak: a short word's length."""
KNOWN_ECHOES = 8
"""Lines of ours whose echo is remembered: few, because people move. Our own choice."""


class Pointer(Protocol):
    """Finds beginnings and ends, see hear.endpoint."""

    @property
    def speaking(self) -> bool:
        """Whether an utterance has begun and not ended."""
        ...

    def feed(self, block: bytes) -> list[Utterance]:
        """More sound; gives the utterances that ended in it."""
        ...

    def finish(self) -> list[Utterance]:
        """End the one that is open."""
        ...


MakePointer = Callable[[Complete], Pointer]
"""A fresh end-pointer that asks this one."""


def plain_pointer(complete: Complete) -> Pointer:
    """With its usual patience, and no suppressor before it."""
    return EndPointer(complete=complete)


class Listening:
    """One microphone: its sound, cut into utterances and at the ends of our own lines."""

    def __init__(self, wanted: Wanted, make_pointer: MakePointer = plain_pointer) -> None:
        self._wanted = wanted
        self._make = partial(make_pointer, self._is_whole)
        self._pointer = self._make()
        self._asked: Utterance | None = None
        self._asked_now = False
        self._pauses = self._whole = 0
        self._pointed = 0
        self._rest = b""
        self._spans: list[LineSpan] = []
        self._unsettled: LineSpan | None = None
        self._fallen = 0
        self._levels: deque[float] = deque(maxlen=FLOOR_FRAMES)
        self._echoes: deque[float] = deque(maxlen=KNOWN_ECHOES)
        self._busy_since_s: float | None = None
        self._quiet_since_s = 0.0
        self.blind = False
        """Whether speech seems to go on without an end."""

    @property
    def speaking(self) -> bool:
        """Whether an utterance is open."""
        return self._pointer.speaking

    @property
    def floor_db(self) -> float:
        """Level of the noise, dB of full scale; -100 before anything was heard."""
        return float(np.percentile(self._levels, FLOOR_PERCENT)) if self._levels else -100.0

    def sounding(self, span: LineSpan) -> None:
        """One of our lines begins, or has ended (the same number again, with its end).

        Words of ours may run into what is said after them, so that the utterance is cut there; a
        tone is no words, and cuts nobody's command in two.
        """
        self._spans = [known for known in self._spans if known.number != span.number][-20:]
        self._spans.append(span)
        if span.text and span.end_s < float("inf"):
            self._unsettled, self._fallen = span, 0
            self._learn_echo(span)

    def _learn_echo(self, span: LineSpan) -> None:
        """How loud a line of ours came back; over several lines the softest half is ours alone."""
        count = min(len(self._levels), round((span.end_s - span.start_s) / FRAME_S))
        if count > 1:
            self._echoes.append(float(np.percentile(list(self._levels)[-count:], 95)))

    def _is_over_echo(self, sound: Sound | None) -> bool:
        if sound is None or not self._echoes:
            return False
        pcm = sound.pcm
        levels = [level_db(pcm[at : at + FRAME_BYTES]) for at in range(0, len(pcm), FRAME_BYTES)]
        limit_db = float(np.percentile(self._echoes, 40)) + OVER_ECHO_DB
        return sum(level > limit_db for level in levels) * FRAME_S > OVER_ECHO_S

    def end(self, pause: int) -> None:
        """What was said up to that pause is whole: the pause is its end, if it still lasts."""
        self._whole = pause

    def _is_whole(self, utterance: Utterance) -> bool:
        """Asked at each frame of a pause; the answer comes from elsewhere, and later."""
        if utterance is not self._asked:
            self._asked, self._asked_now = utterance, True
            self._pauses += 1
        return self._pauses == self._whole

    def feed(self, pcm: bytes, end_s: float) -> list[Caught | Pause]:
        """More 16 kHz sound, whose last sample was caught at `end_s`."""
        self._rest += pcm
        caught: list[Caught | Pause] = []
        while len(self._rest) >= FRAME_BYTES:
            frame, self._rest = self._rest[:FRAME_BYTES], self._rest[FRAME_BYTES:]
            at_s = end_s - len(self._rest) / FRAME_BYTES * FRAME_S
            caught += self._frame(frame, at_s)
        return caught

    def _frame(self, frame: bytes, at_s: float) -> list[Caught | Pause]:
        self._levels.append(level_db(frame))
        found = self._pointer.feed(frame)
        self._pointed += 1
        caught: list[Caught | Pause] = [self._placed(one, at_s) for one in found]
        if self._asked_now and self._asked is not None:
            self._asked_now = False
            caught.append(Pause(self._pauses, self._placed(self._asked, at_s)))
        if self._unsettled is not None and at_s > self._unsettled.end_s:
            caught += self._settle(self._unsettled, at_s)
        self._watch(at_s)
        return caught

    def _settle(self, span: LineSpan, at_s: float) -> list[Caught]:
        """Close what is open when our line has died away, so that what follows begins afresh."""
        if not self._pointer.speaking:
            self._unsettled = None
            return []
        count = min(len(self._levels), max(1, round((at_s - span.end_s + 0.3) / FRAME_S)))
        ours_db = float(np.median(list(self._levels)[-count:][: round(0.3 / FRAME_S)]))
        quiet_db = max(ours_db - FALL_DB, self.floor_db + OVER_FLOOR_DB)
        self._fallen = self._fallen + 1 if self._levels[-1] < quiet_db else 0
        if self._fallen >= 2:
            caught = [self._placed(one, at_s) for one in self._pointer.finish()]
            self._pointer, self._pointed = self._make(), 0
            self._unsettled = None
            return caught
        if at_s > span.end_s + FALL_WITHIN_S:
            self._unsettled = None
        return []

    def _placed(self, utterance: Utterance, at_s: float) -> Caught:
        base_s = at_s - self._pointed * FRAME_S
        onset_s = base_s + utterance.start_s + LEAD_S
        ended_s = max(onset_s, base_s + utterance.end_s - TRAIL_S)
        over = tuple(
            span for span in self._spans if span.start_s < ended_s and span.end_s > onset_s
        )
        sound = utterance.sound
        loud_db = level_db(sound.pcm) if sound else -100.0
        known = replace(
            utterance,
            source="microphone",
            origin=self._wanted.fragment,
            speaker=self._wanted.speaker,
        )
        louder = bool(over) and self._is_over_echo(sound)
        return Caught(known, onset_s, ended_s, at_s, over, loud_db - self.floor_db, louder)

    def _watch(self, at_s: float) -> None:
        if self._pointer.speaking:
            self._busy_since_s = self._busy_since_s or at_s
            self._quiet_since_s = at_s
            self.blind = self.blind or at_s - self._busy_since_s > BLIND_S
        elif at_s - self._quiet_since_s > 0.1:
            self._busy_since_s = None
            self.blind = self.blind and at_s - self._quiet_since_s < SIGHT_S
