"""Performs what was decided: tone, sentence, loudness; keeps going when the voice is gone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Protocol

from bayhelper.speak import tones
from bayhelper.speak.player import scaled
from bayhelper.terms.effects import Tone, Volume
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.ports import Player, Voice
from bayhelper.terms.saying import Saying, Urgency
from bayhelper.terms.sound import Sound

URGENCY_TONE = {Urgency.SOFT: "soft", Urgency.DUE: "due", Urgency.URGENT: "urgent"}
"""Which tone leads a sentence of that urgency."""
TONE_URGENCY = {name: urgency for urgency, name in URGENCY_TONE.items()}
"""The other way round; a tone that is not in it is a reply."""
STEP = 1.5
"""Loudness changes by this factor (3.5 dB) a word (chosen, no source)."""
SOFTEST = 0.1
"""Below this part of the full loudness it does not go (chosen, no source)."""


class SaidLog(Protocol):
    """Where a mouth notes what it says, see show.timeline."""

    began_utc: datetime
    """Start of the session."""

    def said(self, at_utc: datetime, say: Saying, text: str, sound: str, length_s: float) -> None:
        """One sentence; `sound` is the name of its file, where it was kept."""
        ...

    def tone(self, at_utc: datetime, name: str) -> None:
        """A tone without words."""
        ...

    def notice(self, text: str) -> None:
        """Something for the person at the terminal only."""
        ...


class Speaks(Protocol):
    """What the bay asks of a mouth."""

    speaking_until_utc: datetime
    """Until when it speaks, about."""
    reply_s: tuple[float, float] | None
    """From when on our last reply may be answered and when it ended, steady seconds; None while one
    is under way."""

    def say(self, at_utc: datetime, say: Saying, text: str) -> None:
        """The tone of its urgency, then the sentence."""
        ...

    def tone(self, at_utc: datetime, tone: Tone) -> None:
        """A tone alone, without a sentence."""
        ...

    def volume(self, change: Volume) -> None:
        """Softer, louder or hushed."""
        ...

    def prepare(self, texts: Sequence[str]) -> None:
        """Sentences that may come next; nothing of them is heard now."""
        ...

    def read_back(self, at_utc: datetime, sounds: tuple[Sound, ...]) -> None:
        """Play kept recordings, one after the other."""
        ...


class Loudness:
    """Steps that people ask for by a word."""

    def __init__(self) -> None:
        self.factor = 1.0
        """Of the samples of the sounds to come, up to 1."""

    def change(self, change: Volume) -> None:
        """A step softer or louder; 'hush' is none."""
        step = {"quieter": 1 / STEP, "louder": STEP, "hush": 1.0}[change.step]
        self.factor = min(1.0, max(SOFTEST, self.factor * step))


class Mouth:
    """Speaks one sentence after the other and knows until when it is speaking.

    Nobody hears it while it speaks: what comes in meanwhile is said after it, or beside it, so that
    its reply may be answered from the instant on at which it was decided.
    """

    def __init__(
        self, voice: Voice | None, player: Player, log: SaidLog, steady_s: Callable[[], float]
    ) -> None:
        self._voice = voice
        self._player = player
        self._log = log
        self._steady_s = steady_s
        self._failed = False
        self._loudness = Loudness()
        self._ends_s = float("-inf")
        self.speaking_until_utc: datetime = log.began_utc
        self.reply_s: tuple[float, float] | None = None

    def say(self, at_utc: datetime, say: Saying, text: str) -> None:
        length_s = 0.0
        label = ""
        if say.urgency is not None:
            length_s += self._sound_tone(URGENCY_TONE[say.urgency])
        if text:
            spoken_s, label = self._sound_words(text, say.topic)
            length_s += spoken_s
        self._speaks(at_utc, length_s, reply=say.manner != "alert")
        if text:
            self._log.said(at_utc, say, text, label, length_s)
        elif say.urgency is not None:
            self._log.tone(at_utc, URGENCY_TONE[say.urgency])

    def tone(self, at_utc: datetime, tone: Tone) -> None:
        length_s = self._sound_tone(tone.name)
        self._speaks(at_utc, length_s, reply=tone.name not in TONE_URGENCY)
        self._log.tone(at_utc, tone.name)

    def volume(self, change: Volume) -> None:
        """From the next sound on; hush changes nothing that is still to come."""
        self._loudness.change(change)
        now_s = self._steady_s()
        self.reply_s = (now_s, max(now_s, self._ends_s))

    def prepare(self, texts: Sequence[str]) -> None:
        if self._voice is not None:
            self._voice.render_ahead(texts)

    def read_back(self, at_utc: datetime, sounds: tuple[Sound, ...]) -> None:
        try:
            for sound in sounds:
                self._player.play(sound, "note")
        except SpeechError as error:
            self._gone(f"No sound: {error}")
        self._speaks(at_utc, sum(sound.length_s for sound in sounds), reply=True)

    def _speaks(self, at_utc: datetime, length_s: float, *, reply: bool) -> None:
        starts_utc = max(at_utc, self.speaking_until_utc)
        self.speaking_until_utc = starts_utc + timedelta(seconds=length_s)
        now_s = self._steady_s()
        self._ends_s = now_s + (self.speaking_until_utc - at_utc).total_seconds()
        if reply:
            self.reply_s = (now_s, self._ends_s)

    def _sound_tone(self, name: str) -> float:
        sound = tones.render(name)
        try:
            self._player.play(scaled(sound, self._loudness.factor), f"tone-{name}")
        except SpeechError as error:
            self._gone(f"No sound: {error}")
        return sound.length_s

    def _sound_words(self, text: str, topic: str) -> tuple[float, str]:
        if self._voice is None:
            return 0.0, ""
        try:
            sound = self._voice.render(text)
            path = self._player.play(scaled(sound, self._loudness.factor), topic)
        except SpeechError as error:
            self._gone(f"The voice is gone: {error} Tones and this terminal go on.")
            return 0.0, ""
        return sound.length_s, path.name if path else ""

    def _gone(self, text: str) -> None:
        if not self._failed:
            self._log.notice(text)
        self._failed = True
