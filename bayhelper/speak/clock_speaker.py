"""A loudspeaker and a voice for a clock that is moved by hand: for rehearsals and tests."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Protocol

from bayhelper.speak.durations import spoken_s
from bayhelper.speak.speaker import INTERRUPTS, KEPT_S, LinePart
from bayhelper.speak.speaker_reports import Began, Ended, SpeakerReport, SpeakerState, VoiceFailed
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound

SILENT_HZ = 8000
"""Rate of the silence that SilentVoice gives: any does, and this one is small."""


class SpeakerClock(Protocol):
    """What it asks of the clock."""

    def now_utc(self) -> datetime:
        """Wall-clock time, aware, UTC."""
        ...

    def steady_s(self) -> float:
        """Seconds since some instant, which nobody sets."""
        ...


class SilentVoice:
    """A voice that renders silence, as long as the sentence would take."""

    name = "silent"

    def __init__(self) -> None:
        self.gone = ""
        """Why it renders nothing any more; empty while it does."""
        self.ahead: tuple[str, ...] = ()
        """What it was asked to render ahead last."""

    def render(self, text: str) -> Sound:
        """Raises SpeechError while it is gone."""
        if self.gone:
            raise SpeechError(self.gone)
        return Sound(bytes(2 * round(spoken_s(text) * SILENT_HZ)), SILENT_HZ)

    def render_ahead(self, texts: Sequence[str]) -> None:
        """Only noted, in `ahead`."""
        self.ahead = tuple(texts)

    def close(self) -> None:
        """Nothing is held that would have to be let go of."""


@dataclass(frozen=True)
class SoundLine:
    """What is to be heard in one go."""

    number: int
    """Which line."""
    parts: tuple[LinePart, ...]
    """Its sounds."""
    urgency: int
    """0 for a reply, 1 to 3 as in terms.effects.Urgency."""
    text: str
    """Its words."""
    since_s: float
    """When it was queued, steady seconds."""
    again: bool = False
    """Whether it was cut off once."""


class ClockSpeaker:
    """Lines by urgency, each as long as its sounds; reports as speak.speaker.Speaker does.

    It is asked when the next thing happens, and what has happened, instead of telling by itself.
    """

    over = False

    def __init__(self, clock: SpeakerClock) -> None:
        self._clock = clock
        self._lines: list[SoundLine] = []
        self._now: SoundLine | None = None
        self._ends_s = 0.0
        self._news: list[SpeakerReport] = []
        self._alive = True
        self.gain = 1.0
        """Factor of the samples of the sounds to come."""
        self.heard: list[tuple[float, str]] = []
        """When each line began, steady seconds, and its words."""

    def set_gain(self, gain: float) -> None:
        self.gain = gain

    def say(self, number: int, parts: Sequence[LinePart], urgency: int, text: str = "") -> None:
        self._lines.append(SoundLine(number, tuple(parts), urgency, text, self._clock.steady_s()))
        now = self._now
        if now is not None and urgency >= INTERRUPTS and urgency > now.urgency:
            self._cut(again=not now.again)

    def hush(self, below: int = INTERRUPTS) -> None:
        now_s = self._clock.steady_s()
        dropped = [line for line in self._lines if line.urgency < below]
        self._lines = [line for line in self._lines if line.urgency >= below]
        if self._now is not None and self._now.urgency < below:
            self._cut(again=False)
        self._news += [Ended(line.number, now_s, whole=False) for line in dropped]

    def lose(self, text: str) -> None:
        """The device is gone; lines wait a while for it."""
        self._alive = False
        if self._now is not None:
            self._cut(again=not self._now.again)
        self._news.append(SpeakerState(False, text))

    def restore(self, text: str) -> None:
        """The device is there again."""
        self._alive = True
        self._news.append(SpeakerState(True, text))

    def fileno(self) -> int:
        """There is no file to wait for."""
        return -1

    def next_utc(self) -> datetime | None:
        """When the next thing happens; None when nothing will."""
        now_s, at_s = self._clock.steady_s(), float("inf")
        if self._news or (self._lines and self._now is None and self._alive):
            at_s = now_s
        elif self._now is not None:
            at_s = self._ends_s
        elif self._lines:
            at_s = min(line.since_s for line in self._lines) + KEPT_S
        if at_s == float("inf"):
            return None
        return self._clock.now_utc() + timedelta(seconds=max(0.0, at_s - now_s))

    def take(self) -> Sequence[SpeakerReport]:
        """What has happened up to now, in order."""
        now_s = self._clock.steady_s()
        if self._now is not None and now_s >= self._ends_s - 1e-6:
            self._news.append(Ended(self._now.number, self._ends_s, whole=True))
            self._now = None
        if self._alive and self._now is None and self._lines:
            self._begin(max(self._lines, key=lambda line: (line.urgency, -line.since_s)), now_s)
        elif not self._alive:
            old = [line for line in self._lines if now_s - line.since_s >= KEPT_S - 1e-6]
            self._lines = [line for line in self._lines if line not in old]
            self._news += [Ended(line.number, now_s, whole=False) for line in old]
        news, self._news = self._news, []
        return news

    def _begin(self, line: SoundLine, now_s: float) -> None:
        self._lines.remove(line)
        length_s = 0.0
        for part in line.parts:
            try:
                sound = part if isinstance(part, Sound) else part.result()
            except SpeechError as error:
                self._news.append(VoiceFailed(str(error)))
                continue
            length_s += sound.length_s
        self._now, self._ends_s = line, now_s + length_s
        if length_s:
            self._news.append(Began(line.number, now_s, line.text))
            self.heard.append((now_s, line.text))

    def _cut(self, *, again: bool) -> None:
        """The line that sounds ends here; `again` queues it once more."""
        line, self._now = self._now, None
        if line is None:
            return
        self._news.append(Ended(line.number, self._clock.steady_s(), whole=False, again=again))
        if again:
            self._lines.append(replace(line, again=True))
