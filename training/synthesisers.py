"""The synthesisers behind one Protocol: Kokoro-82M, Piper, eSpeak NG, flite and Festival."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from training.sound_files import Samples, read
from training.speakers import RecipeError, Speaker

ESPEAK_WORDS_A_MINUTE = 165
"""At speed 1.0: chosen, a little slower than eSpeak NG's own 175."""


class Synthesiser(Protocol):
    """Turns words into sound."""

    made_by: str

    def say(self, text: str, speaker: Speaker, speed: float) -> Samples:
        """Speech without added silence; speed 1.0 is the voice's own, 1.2 a fifth faster."""
        ...


class EspeakSpeech:
    """eSpeak NG, the Debian program `espeak-ng`."""

    made_by = "eSpeak NG"

    def say(self, text: str, speaker: Speaker, speed: float) -> Samples:
        """See Synthesiser."""
        rate = str(round(ESPEAK_WORDS_A_MINUTE * speed))
        return _run("espeak-ng", lambda out: ["-v", speaker.voice, "-s", rate, "-w", out, text])


class FliteSpeech:
    """flite, the Debian program of that name."""

    made_by = "flite"

    def say(self, text: str, speaker: Speaker, speed: float) -> Samples:
        """See Synthesiser."""
        stretch = f"duration_stretch={1 / speed:.3f}"
        return _run(
            "flite", lambda out: ["-voice", speaker.voice, "--setf", stretch, "-t", text, "-o", out]
        )


class FestivalSpeech:
    """Festival, whose Debian package has the program `text2wave`."""

    made_by = "Festival"

    def say(self, text: str, speaker: Speaker, speed: float) -> Samples:
        """See Synthesiser."""
        orders = f"(voice_{speaker.voice})", f"(Parameter.set 'Duration_Stretch {1 / speed:.3f})"
        evaluate = [word for order in orders for word in ("-eval", order)]
        return _run("text2wave", lambda out: [*evaluate, "-o", out], text)


def _run(program: str, arguments: Callable[[str], list[str]], given: str = "") -> Samples:
    path = shutil.which(program)
    if path is None:
        package = "festival" if program == "text2wave" else program
        raise RecipeError(f"expected {program} on the PATH: apt install {package}")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "speech.wav"
        done = subprocess.run(
            [path, *arguments(str(out))], input=given, capture_output=True, text=True, check=False
        )
        if done.returncode != 0 or not out.exists():
            raise RecipeError(f"{program} failed with {done.returncode}: {done.stderr.strip()}")
        return read(out)


PROGRAMS: dict[str, Callable[[], Synthesiser]] = {
    "espeak": EspeakSpeech,
    "flite": FliteSpeech,
    "festival": FestivalSpeech,
}
"""Synthesisers that are programs of Debian's, by the name in a speaker."""


class Synthesisers:
    """All of them, each started when it is first needed."""

    def __init__(self, cache: Path) -> None:
        self._cache = cache
        self._started: dict[str, Synthesiser] = {}

    def for_speaker(self, speaker: Speaker) -> Synthesiser:
        """The synthesiser that this speaker belongs to."""
        name = speaker.synthesiser
        if name not in self._started:
            if name == "kokoro":
                from training.kokoro import KokoroSpeech  # noqa: PLC0415 (heavy)

                self._started[name] = KokoroSpeech(self._cache)
            elif name == "piper":
                from training.piper import PiperSpeech  # noqa: PLC0415 (heavy)

                self._started[name] = PiperSpeech()
            else:
                self._started[name] = PROGRAMS[name]()
        return self._started[name]
