"""The voice: pyttsx3 in a process of its own for each sentence, with the next one started ahead."""

from __future__ import annotations

import json
import subprocess
import sys
import wave
from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType

import numpy as np

from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound

QUIET = 200
"""Samples below this are taken for silence when the ends are trimmed."""
EDGE_S = 0.05
PEAK = 0.7 * 32767


class VoiceProcess:
    """Satisfies terms.ports.Voice. Sentences that were rendered once are kept."""

    name = "pyttsx3"

    def __init__(self, rate_wpm: int = 165, voice: str = "", timeout_s: float = 15.0) -> None:
        """`voice` is an id that pyttsx3 knows; empty for the system's default."""
        self._rate_wpm = rate_wpm
        self._voice = voice
        self._timeout_s = timeout_s
        self._kept: dict[str, Sound] = {}
        self._folder = TemporaryDirectory(prefix="bayhelper-voice-")
        self._spare: subprocess.Popen[str] | None = None
        self._count = 0
        self.library = ""

    def __enter__(self) -> VoiceProcess:
        self._spare = self._start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """End the waiting process and forget what was rendered."""
        if self._spare is not None:
            self._spare.kill()
            self._spare.communicate()
            self._spare = None
        self._folder.cleanup()

    def render(self, text: str) -> Sound:
        """Speech for one sentence. Raises SpeechError when the voice fails or takes too long."""
        if text not in self._kept:
            self._kept[text] = self._render(text)
        return self._kept[text]

    def _start(self) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-m", "bayhelper.speak.voice_worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def _render(self, text: str) -> Sound:
        worker = self._spare if self._spare is not None else self._start()
        self._spare = self._start()
        self._count += 1
        file = Path(self._folder.name) / f"{self._count}.wav"
        order = {
            "text": text,
            "file": str(file),
            "rate_wpm": self._rate_wpm,
            "voice": self._voice,
        }
        try:
            out, err = worker.communicate(json.dumps(order) + "\n", timeout=self._timeout_s)
        except subprocess.TimeoutExpired as error:
            worker.kill()
            worker.communicate()
            raise SpeechError(f"The voice took over {self._timeout_s:g} s for one line.") from error
        if worker.returncode or not file.exists():
            reason = err.strip().splitlines()[-1] if err.strip() else f"code {worker.returncode}"
            raise SpeechError(f"The voice failed ({reason}); 'bayhelper check' says what to do.")
        for line in out.splitlines():
            if line.startswith("{"):
                self.library = json.loads(line)["library"]
        return trimmed(read_wav(file))


def read_wav(file: Path) -> Sound:
    """A mono 16-bit WAV file. Raises SpeechError when it is none."""
    try:
        with wave.open(str(file), "rb") as source:
            if source.getsampwidth() != 2 or source.getnchannels() != 1:
                raise SpeechError(f"{file}: expected mono 16-bit sound from the voice.")
            return Sound(source.readframes(source.getnframes()), source.getframerate())
    except (OSError, EOFError, wave.Error) as error:
        raise SpeechError(f"{file}: the voice wrote no sound: {error}.") from error


def trimmed(sound: Sound) -> Sound:
    """The sound without silent ends, its loudest sample at PEAK."""
    samples = np.frombuffer(sound.pcm, "<i2").astype(np.float64)
    loud = np.flatnonzero(np.abs(samples) > QUIET)
    if len(loud) == 0:
        raise SpeechError("The voice wrote only silence.")
    edge = int(EDGE_S * sound.rate_hz)
    kept = samples[max(0, loud[0] - edge) : loud[-1] + edge]
    kept = kept * (PEAK / np.abs(kept).max())
    return Sound(kept.astype("<i2").tobytes(), sound.rate_hz)
