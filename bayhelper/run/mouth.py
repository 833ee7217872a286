"""Performs what was decided: tone, sentence, loudness; keeps going when the voice is gone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Protocol

from bayhelper.run.timeline import Timeline
from bayhelper.speak import tones
from bayhelper.speak.player import scaled
from bayhelper.terms.effects import Tone, Volume
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.ports import Player, Voice
from bayhelper.terms.saying import Saying, Urgency
from bayhelper.terms.sound import Sound

URGENCY_TONE = {Urgency.SOFT: "soft", Urgency.DUE: "due", Urgency.URGENT: "urgent"}

STEP = 1.5
"""Loudness changes by this factor (3.5 dB) a word."""
SOFTEST = 0.1


class Speaks(Protocol):
    """What the bay asks of a mouth."""

    speaking_until_utc: datetime
    """Until when it speaks, about."""

    def say(self, at_utc: datetime, say: Saying, text: str) -> None:
        """The tone of its urgency, then the sentence."""
        ...

    def tone(self, at_utc: datetime, tone: Tone) -> None:
        """A tone alone."""
        ...

    def volume(self, change: Volume) -> None:
        """Softer, louder or hushed."""
        ...

    def prepare(self, texts: Sequence[str]) -> None:
        """Sentences that may come next."""
        ...

    def read_back(self, at_utc: datetime, sounds: tuple[Sound, ...]) -> None:
        """Kept recordings."""
        ...


class Mouth:
    """Speaks one sentence after the other and knows until when it is speaking."""

    def __init__(self, voice: Voice | None, player: Player, timeline: Timeline) -> None:
        self._voice = voice
        self._player = player
        self._timeline = timeline
        self._failed = False
        self._gain = 1.0
        self.speaking_until_utc: datetime = timeline.began_utc

    def say(self, at_utc: datetime, say: Saying, text: str) -> None:
        """Sound the tone of its urgency, then the sentence."""
        length_s = 0.0
        label = ""
        if say.urgency is not None:
            length_s += self._sound_tone(URGENCY_TONE[say.urgency])
        if text:
            spoken_s, label = self._sound_words(text, say.topic)
            length_s += spoken_s
        starts_utc = max(at_utc, self.speaking_until_utc)
        self.speaking_until_utc = starts_utc + timedelta(seconds=length_s)
        if text:
            self._timeline.said(at_utc, say, text, label, length_s)
        elif say.urgency is not None:
            self._timeline.tone(at_utc, URGENCY_TONE[say.urgency])

    def tone(self, at_utc: datetime, tone: Tone) -> None:
        """A tone alone."""
        length_s = self._sound_tone(tone.name)
        starts_utc = max(at_utc, self.speaking_until_utc)
        self.speaking_until_utc = starts_utc + timedelta(seconds=length_s)
        self._timeline.tone(at_utc, tone.name)

    def volume(self, change: Volume) -> None:
        """Softer or louder from the next sound on; hush changes nothing that is still to come."""
        step = {"quieter": 1 / STEP, "louder": STEP, "hush": 1.0}[change.step]
        self._gain = min(1.0, max(SOFTEST, self._gain * step))

    def prepare(self, texts: Sequence[str]) -> None:
        """Sentences that may come next; nothing of them is heard now."""
        if self._voice is not None:
            self._voice.render_ahead(texts)

    def read_back(self, at_utc: datetime, sounds: tuple[Sound, ...]) -> None:
        """Play kept recordings, one after the other."""
        starts_utc = max(at_utc, self.speaking_until_utc)
        length_s = sum(sound.length_s for sound in sounds)
        try:
            for sound in sounds:
                self._player.play(sound, "note")
        except SpeechError as error:
            self._gone(f"No sound: {error}")
        self.speaking_until_utc = starts_utc + timedelta(seconds=length_s)

    def _sound_tone(self, name: str) -> float:
        sound = tones.render(name)
        try:
            self._player.play(scaled(sound, self._gain), f"tone-{name}")
        except SpeechError as error:
            self._gone(f"No sound: {error}")
        return sound.length_s

    def _sound_words(self, text: str, topic: str) -> tuple[float, str]:
        if self._voice is None:
            return 0.0, ""
        try:
            sound = self._voice.render(text)
            path = self._player.play(scaled(sound, self._gain), topic)
        except SpeechError as error:
            self._gone(f"The voice is gone: {error} Tones and this terminal go on.")
            return 0.0, ""
        return sound.length_s, path.name if path else ""

    def _gone(self, text: str) -> None:
        if not self._failed:
            self._timeline.notice(text)
        self._failed = True
