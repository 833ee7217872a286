"""The mouth where people wait for it: nothing here blocks, and what is heard when is known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import datetime, timedelta
from typing import Protocol

from bayhelper.speak import tones
from bayhelper.speak.durations import spoken_s
from bayhelper.speak.mouth import TONE_URGENCY, URGENCY_TONE, Loudness, SaidLog
from bayhelper.speak.outages import OUTAGES, OutageName
from bayhelper.speak.speaker import LinePart
from bayhelper.speak.speaker_reports import Ended, SpeakerReport
from bayhelper.terms.closing import Closing
from bayhelper.terms.effects import Tone, Volume
from bayhelper.terms.ports import Voice
from bayhelper.terms.saying import Saying, Urgency
from bayhelper.terms.sound import Sound

RENDERERS = 2
"""So that an alert need not wait until a long reply is rendered."""
RISE_DB = 12.0
"""So much softer than the maximum it speaks where it is quiet (chosen, no source)."""
TOO_LOUD_DB = 24.0
"""Noise so far above the quietest that was met is more than the loudness can follow (chosen, no
source)."""


class SpeaksLines(Protocol):
    """What the mouth asks of speak.speaker.Speaker."""

    def set_gain(self, gain: float) -> None:
        """Loudness of the sounds to come."""
        ...

    def say(self, number: int, parts: Sequence[LinePart], urgency: int, text: str = "") -> None:
        """Queue a line; returns at once."""
        ...

    def hush(self, below: int) -> None:
        """Cut off and drop what is less urgent."""
        ...


class LiveMouth(Closing):
    """Fills the place of speak.mouth.Mouth; hands lines to a loudspeaker, which tells when they
    are heard: a reply may be answered once it has ended.
    """

    def __init__(
        self,
        voice: Voice | None,
        log: SaidLog,
        speaker: SpeaksLines,
        steady_s: Callable[[], float],
        maximum: float,
    ) -> None:
        """`maximum`, 0 to 1, is the loudness that a person set."""
        self._voice = voice
        self._log = log
        self._steady_s = steady_s
        self._maximum = maximum
        self._loudness = Loudness()
        self._rise_db = RISE_DB
        self._quietest_db: float | None = None
        self._speaker = speaker
        self._renderers = ThreadPoolExecutor(RENDERERS, "rendering")
        self._count = 0
        self._replies: set[int] = set()
        self.speaking_until_utc: datetime = log.began_utc
        self.reply_s: tuple[float, float] | None = None
        self._set_gain()

    def close(self) -> None:
        """Render nothing more; what is under way is left to end by itself."""
        self._renderers.shutdown(wait=False, cancel_futures=True)

    def say(self, at_utc: datetime, say: Saying, text: str) -> None:
        parts: list[LinePart] = []
        if say.urgency is not None:
            parts.append(tones.render(URGENCY_TONE[say.urgency]))
        parts += self._rendering(text)
        length_s = spoken_s(text) if text else 0.0
        self._line(
            at_utc,
            parts,
            urgency=int(say.urgency or 0),
            reply=say.manner != "alert",
            length_s=length_s,
            text=text,
        )
        if text:
            self._log.said(at_utc, say, text, "", length_s)
        elif say.urgency is not None:
            self._log.tone(at_utc, URGENCY_TONE[say.urgency])

    def tone(self, at_utc: datetime, tone: Tone) -> None:
        urgency = int(TONE_URGENCY.get(tone.name, 0))
        sound = tones.render(tone.name)
        self._line(at_utc, [sound], urgency=urgency, reply=urgency == 0, length_s=sound.length_s)
        self._log.tone(at_utc, tone.name)

    def volume(self, change: Volume) -> None:
        """Softer or louder from the next sound on; hush cuts off what sounds."""
        if change.step == "hush":
            self._speaker.hush(below=int(Urgency.URGENT) + 1)
        self._loudness.change(change)
        self._set_gain()
        now_s = self._steady_s()
        self.reply_s = (now_s, now_s)

    def prepare(self, texts: Sequence[str]) -> None:
        if self._voice is not None:
            spoken = [outage.spoken for outage in OUTAGES.values() if outage.spoken]
            self._voice.render_ahead([*texts, *spoken])

    def read_back(self, at_utc: datetime, sounds: tuple[Sound, ...]) -> None:
        length_s = sum(sound.length_s for sound in sounds)
        self._line(at_utc, list(sounds), urgency=0, reply=True, length_s=length_s)

    def announce(self, at_utc: datetime, outage: OutageName) -> None:
        """Say that a part failed, or works again, where there are words for it."""
        text = OUTAGES[outage].spoken
        if not text:
            return
        self._line(
            at_utc,
            [tones.render("due"), *self._rendering(text)],
            urgency=int(Urgency.DUE),
            reply=False,
            length_s=spoken_s(text),
            text=text,
        )

    def give_way(self) -> None:
        """Somebody is going to talk: stop everything that is not urgent."""
        self._speaker.hush(below=int(Urgency.URGENT))

    def handle(self, report: SpeakerReport) -> None:
        """Keep account of what was heard."""
        if isinstance(report, Ended) and not report.again and report.number in self._replies:
            self._replies.discard(report.number)
            if not self._replies:
                self.reply_s = (report.at_s, report.at_s)

    def noise(self, floor_db: float) -> bool:
        """Follow the noise with the loudness, up to the maximum; True when that is too little."""
        if self._quietest_db is None or floor_db < self._quietest_db:
            self._quietest_db = floor_db
        above_db = floor_db - self._quietest_db
        self._rise_db = max(0.0, RISE_DB - above_db)
        self._set_gain()
        return above_db > TOO_LOUD_DB

    def _rendering(self, text: str) -> list[LinePart]:
        """The sentence, begun to be rendered; nothing without words or without a voice."""
        if not text or self._voice is None:
            return []
        return [self._renderers.submit(self._voice.render, text)]

    def _set_gain(self) -> None:
        self._speaker.set_gain(self._maximum * self._loudness.factor * 10 ** (-self._rise_db / 20))

    def _line(
        self,
        at_utc: datetime,
        parts: Sequence[Sound | Future[Sound]],
        *,
        urgency: int,
        reply: bool,
        length_s: float,
        text: str = "",
    ) -> None:
        self._count += 1
        starts_utc = max(at_utc, self.speaking_until_utc)
        self.speaking_until_utc = starts_utc + timedelta(seconds=length_s)
        if reply:
            self._replies.add(self._count)
            self.reply_s = None
        self._speaker.say(self._count, parts, urgency, text)
