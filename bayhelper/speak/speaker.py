"""Lines for the loudspeaker, one after the other from one thread, the most urgent first."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from concurrent.futures import TimeoutError as NotYet
from dataclasses import dataclass
from typing import Any

from bayhelper.sound.portaudio import load_portaudio
from bayhelper.speak.loudspeaker import Feed, Loudspeaker
from bayhelper.speak.speaker_reports import Began, Ended, SpeakerReport, VoiceFailed
from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound

KEPT_S = 6.0
"""A line that could not be begun for so long is dropped: the next alert knows better. Our own
choice."""
INTERRUPTS = 3
"""Lines of this urgency cut off a line that is less urgent; see terms.effects.Urgency."""
LOOK_S = 0.01
"""How often a line that sounds, or waits for its words, is asked whether it was cut off; our own
choice, short against what the ear tells from at once."""

LinePart = Sound | Future[Sound]
"""A piece of a line, which may still be rendered."""


@dataclass
class _Line:
    """What is to be heard in one go."""

    number: int
    parts: tuple[LinePart, ...]
    urgency: int
    text: str
    since_s: float
    begun_s: float = 0.0
    again: bool = False


class Speaker(Closing):
    """Plays lines one after the other; what happens to them is reported, from its own thread."""

    def __init__(
        self,
        report: Callable[[SpeakerReport], None],
        steady_s: Callable[[], float],
        *,
        device: str = "",
        maximum: float = 1.0,
        library: Callable[[], Any] = load_portaudio,
    ) -> None:
        """`maximum`, 0 to 1, is the loudness that a person set by ear; nothing goes above it.

        Raises SoundError when PortAudio is absent.
        """
        self._loudspeaker = Loudspeaker(library(), report, steady_s, device)
        self._report = report
        self._steady_s = steady_s
        self._maximum = min(1.0, max(0.0, maximum))
        self._gain = self._maximum
        self._lines: list[_Line] = []
        self._now: _Line | None = None
        self._cut = False
        self._closed = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="speaker", daemon=True)

    def __enter__(self) -> Speaker:
        self._thread.start()
        return self

    def close(self) -> None:
        """Stop in mid-word and give the device back."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        if self._thread.ident is not None:
            self._thread.join(3.0)

    @property
    def gain(self) -> float:
        """Factor of the samples of the sounds to come."""
        return self._gain

    def set_gain(self, gain: float) -> None:
        """Loudness of the sounds to come, never above the maximum."""
        self._gain = min(self._maximum, max(0.0, gain))

    def say(self, number: int, parts: Sequence[LinePart], urgency: int, text: str = "") -> None:
        """Queue a line; parts that are still being rendered are waited for when it is their turn.

        `urgency` 0 is a reply, 1 to 3 as in terms.effects.Urgency. Returns at once.
        """
        line = _Line(number, tuple(parts), urgency, text, self._steady_s())
        with self._changed:
            self._lines.append(line)
            self._changed.notify_all()

    def hush(self, below: int = INTERRUPTS) -> None:
        """Cut off what is sounding, and drop what waits, if it is less urgent than `below`."""
        with self._changed:
            dropped = [line for line in self._lines if line.urgency < below]
            self._lines = [line for line in self._lines if line.urgency >= below]
            if self._now is not None and self._now.urgency < below:
                self._now.again, self._cut = True, True
            self._changed.notify_all()
        for line in dropped:
            self._report(Ended(line.number, self._steady_s(), whole=False))

    def _run(self) -> None:
        while True:
            with self._changed:
                if self._closed:
                    break
                if not self._lines:
                    self._changed.wait(0.1)
            self._loudspeaker.keep()
            line = self._next()
            if line is not None:
                self._play(line)
        self._loudspeaker.close()

    def _next(self) -> _Line | None:
        """The most urgent line, the oldest of these; too old ones are dropped."""
        with self._changed:
            if not self._lines:
                return None
            line = max(self._lines, key=lambda one: (one.urgency, -one.since_s))
            old = self._steady_s() - line.since_s > KEPT_S
            if not self._loudspeaker.is_open and not old:
                self._changed.wait(0.05)
                return None
            self._lines.remove(line)
            self._now, self._cut = line, False
        if not self._loudspeaker.is_open:
            self._report(Ended(line.number, self._steady_s(), whole=False))
            self._now = None
            return None
        return line

    def _play(self, line: _Line) -> None:
        whole, ended_s = True, self._steady_s()
        for part in line.parts:
            sound = self._sound(part)
            if sound is None:
                whole = whole and not self._cut
                continue
            last_s = self._sound_out(line, sound)
            whole = whole and last_s > 0
            ended_s = last_s or self._steady_s()
            if not whole:
                break
        with self._changed:
            self._now = None
            again = not whole and not line.again and not self._closed
            if again:
                line.again = True
                self._lines.append(line)
        if line.begun_s or not again:
            self._report(Ended(line.number, ended_s, whole, again))
        line.begun_s = 0.0

    def _sound(self, part: LinePart) -> Sound | None:
        """The part once it is rendered; None when that failed or the line was cut off."""
        if isinstance(part, Sound):
            return part
        while not self._interrupted():
            try:
                return part.result(timeout=LOOK_S)
            except NotYet:
                continue
            except SpeechError as error:
                self._report(VoiceFailed(str(error)))
                return None
        return None

    def _sound_out(self, line: _Line, sound: Sound) -> float:
        """Play to the end; gives when its last sample is heard, or 0 when it was cut off."""
        feed = self._loudspeaker.start(sound, self._gain)
        while not feed.done.wait(LOOK_S):
            if feed.begun.is_set() and not line.begun_s:
                self._begin(line, feed)
            if self._interrupted() or self._loudspeaker.is_dead:
                self._loudspeaker.cut(feed)
                return 0.0
        if not line.begun_s:
            self._begin(line, feed)
        return feed.last_s

    def _begin(self, line: _Line, feed: Feed) -> None:
        line.begun_s = feed.first_s
        self._report(Began(line.number, feed.first_s, line.text))

    def _interrupted(self) -> bool:
        with self._changed:
            now = self._now
            if self._closed or self._cut or now is None:
                return True
            self._cut = any(
                line.urgency >= INTERRUPTS and line.urgency > now.urgency for line in self._lines
            )
            return self._cut
