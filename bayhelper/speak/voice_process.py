"""The voice: pyttsx3 in a process of its own for each sentence, with the next one started ahead."""

from __future__ import annotations

import json
import subprocess
import sys
import wave
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock

import numpy as np

from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound

QUIET = 200
"""Samples below this are taken for silence when the ends are trimmed; 44 dB below full scale,
our own choice."""
EDGE_S = 0.05
"""So much silence is left at either end; our own choice."""
PEAK = 0.7 * 32767
"""The loudest sample of every sentence, 3 dB below full scale; our own choice."""
KEPT = 256
"""So many sentences are kept, about 25 MB; the one unused for longest goes first."""


class VoiceProcess(Closing):
    """Satisfies terms.ports.Voice. Sentences that were rendered lately are kept."""

    name = "pyttsx3"

    def __init__(self, rate_wpm: int = 165, voice: str = "", timeout_s: float = 5.0) -> None:
        """`voice` is an id that pyttsx3 knows; empty for the system's default."""
        self._rate_wpm = rate_wpm
        self._voice = voice
        self._timeout_s = timeout_s
        self._kept: OrderedDict[str, Sound] = OrderedDict()
        self._pending: dict[str, Future[None]] = {}
        self._ahead = ThreadPoolExecutor(1, "voice")
        self._lock = Lock()
        self._folder = TemporaryDirectory(prefix="bayhelper-voice-")
        self._spare: subprocess.Popen[str] | None = None
        self._working: set[subprocess.Popen[str]] = set()
        self._numbers = count(1)
        self._closed = False
        self.library = ""

    def __enter__(self) -> VoiceProcess:
        with self._lock:
            self._spare = self._start()
        return self

    def close(self) -> None:
        """End every process of the voice and forget what was rendered."""
        with self._lock:
            self._closed = True
            for worker in self._working:
                worker.kill()
            self._drop_spare()
            self._kept.clear()
        self._ahead.shutdown(wait=True, cancel_futures=True)
        self._folder.cleanup()

    def render(self, text: str) -> Sound:
        """Speech for one sentence. Raises SpeechError when the voice fails or takes too long."""
        with self._lock:
            pending = self._pending.pop(text, None)
        if pending is not None and not pending.cancel():
            wait([pending])
        with self._lock:
            kept = self._kept.get(text)
            if kept is not None:
                self._kept.move_to_end(text)
                return kept
        return self._keep(text, self._render(text))

    def render_ahead(self, texts: Sequence[str]) -> None:
        """Render sentences that are likely to be needed soon, in order, in the background.

        Those named before, and not begun, are dropped unless they are named again. Returns at once.
        What fails here is tried again, and reported, when it is asked for.
        """
        with self._lock:
            for text, pending in list(self._pending.items()):
                if text not in texts and pending.cancel():
                    del self._pending[text]
            for text in texts:
                if self._closed or text in self._kept or text in self._pending:
                    continue
                self._pending[text] = self._ahead.submit(self._render_quietly, text)

    def _render_quietly(self, text: str) -> None:
        try:
            self._keep(text, self._render(text))
        except SpeechError:
            return
        finally:
            with self._lock:
                self._pending.pop(text, None)

    def _keep(self, text: str, sound: Sound) -> Sound:
        with self._lock:
            self._kept[text] = sound
            if len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return sound

    def _start(self) -> subprocess.Popen[str] | None:
        """A process that waits for its sentence; None when the system gives none."""
        try:
            return subprocess.Popen(
                [sys.executable, "-m", "bayhelper.speak.voice_worker"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
        except OSError:
            return None

    def _drop_spare(self) -> None:
        if self._spare is not None:
            self._spare.kill()
            self._spare.communicate()
            self._spare = None

    def _take_worker(self) -> subprocess.Popen[str]:
        with self._lock:
            if self._closed:
                raise SpeechError("The voice was closed. Open it again before it is to speak.")
            if self._spare is not None and self._spare.poll() is not None:
                self._drop_spare()  # it ended while it waited
            worker = self._spare or self._start()
            self._spare = self._start()
            if worker is None:
                raise SpeechError(
                    f"The system starts no process for the voice ({sys.executable}); free memory "
                    "or reinstall Python, and see 'bayhelper check'."
                )
            self._working.add(worker)
            return worker

    def _render(self, text: str) -> Sound:
        if not text.strip():
            raise SpeechError("There are no words to speak in an empty sentence.")
        worker = self._take_worker()
        file = Path(self._folder.name) / f"{next(self._numbers)}.wav"
        order = {
            "text": text,
            "file": str(file),
            "rate_wpm": self._rate_wpm,
            "voice": self._voice,
        }
        try:
            out, err = worker.communicate(json.dumps(order) + "\n", timeout=self._timeout_s)
            if worker.returncode or not file.exists():
                reason = (
                    err.strip().splitlines()[-1] if err.strip() else f"code {worker.returncode}"
                )
                raise SpeechError(
                    f"The voice failed ({reason}); 'bayhelper check' says what to do."
                )
            self.library = library_of(out) or self.library
            return trimmed(read_wav(file))
        except subprocess.TimeoutExpired as error:
            worker.kill()
            worker.communicate()
            with self._lock:
                self._drop_spare()  # started beside the one that hung
            raise SpeechError(f"The voice took over {self._timeout_s:g} s for one line.") from error
        finally:
            with self._lock:
                self._working.discard(worker)
            file.unlink(missing_ok=True)


def library_of(output: str) -> str:
    """The library that a worker says it used; '' when it does not say."""
    for line in output.splitlines():
        if line.startswith("{"):
            return str(json.loads(line)["library"])
    return ""


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
