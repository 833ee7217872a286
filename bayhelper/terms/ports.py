"""The plug-ins of the house, as small Protocols."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from bayhelper.terms.command import Match
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Hearing, Spotted, Utterance


class Engine(Protocol):
    """A recogniser. Each call starts from the same state: nothing carries over."""

    name: str

    def listen(self, sound: Sound, jsgf: str) -> Decode:
        """Read 16 kHz sound under one self-contained JSGF grammar."""
        ...

    def listen_once(self, sound: Sound, jsgf: str) -> Decode:
        """The same, where the grammar is not worth keeping for the next time."""
        ...

    def listen_freely(self, sound: Sound) -> Decode:
        """Read 16 kHz sound under the engine's own free language."""
        ...

    def spot(self, sound: Sound, phrase: str) -> Spotted:
        """How surely the phrase occurs, and where, by a search that knows nothing else."""
        ...

    def missing_words(self, words: Sequence[str]) -> tuple[str, ...]:
        """Those of the words that the engine cannot hear even with a guessed pronunciation."""
        ...

    def close(self) -> None:
        """Give back memory and processes."""
        ...


class Listener(Protocol):
    """An ear: whatever reads an utterance, spoken or typed, and judges what it read."""

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """Read one utterance under what may be said now; `follow_on`: no address is needed."""
        ...


class Suppressor(Protocol):
    """Takes steady noise out of a stream of 16 kHz 16-bit mono sound."""

    name: str

    def feed(self, pcm: bytes) -> bytes:
        """More sound; gives cleaned sound, which lags behind but keeps its place in time."""
        ...

    def finish(self) -> bytes:
        """The stream has ended; gives the rest, so that as much came out as went in."""
        ...

    def close(self) -> None:
        """Give back the memory of the network."""
        ...


class Offer(Protocol):
    """Everything that may be said now, from one tree of grammar."""

    address: str
    """The address phrase, plain lower-case words."""

    @property
    def dictation(self) -> bool:
        """Whether a note is being dictated, so that what is said may be any words."""
        ...

    def jsgf(self, addressed: bool) -> str:
        """One self-contained JSGF grammar, each phrase led by the address phrase or without it."""
        ...

    def rivals_jsgf(self, words: Sequence[str]) -> str:
        """What differs from a reading in one place and in meaning, as one grammar.

        Empty when the words are no phrase word for word, nothing differs so little, or the grammar
        has no commands.
        """
        ...

    def words(self) -> tuple[str, ...]:
        """Every word that may occur, the address phrase's included, sorted."""
        ...

    def match(self, words: Sequence[str]) -> Match:
        """The nearest phrase to heard words, which may begin with the address phrase."""
        ...

    def complete(self, words: Sequence[str]) -> bool:
        """Whether heard words are a phrase word for word that no longer one begins with."""
        ...


class Voice(Protocol):
    """Text to speech, rendered to memory."""

    name: str

    def render(self, text: str) -> Sound:
        """Speech for one sentence; raises SpeechError when the voice is gone."""
        ...

    def render_ahead(self, texts: Sequence[str]) -> None:
        """Sentences that are likely to be wanted next, in place of those named before.

        Returns at once, and never raises.
        """
        ...

    def close(self) -> None:
        """End the voice's process."""
        ...


class Player(Protocol):
    """Where sound goes: a loudspeaker, a folder of files, nowhere."""

    def play(self, sound: Sound, label: str) -> Path | None:
        """Play or keep the sound; gives the file when it was kept."""
        ...

    def close(self) -> None:
        """Release the device, or the folder."""
        ...
