"""Recordings as sources: WAV and FLAC files, raw sound on a stream."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

import numpy as np
import soundfile
import soxr

from bayhelper.hear.endpoint import RATE_HZ, EndPointer
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Utterance

BLOCK_FRAMES = 1600
"""A tenth of a second at RATE_HZ."""


def read_sound(path: Path) -> Sound:
    """A whole WAV or FLAC file as 16 kHz mono.

    Raises HearingError when it is missing, empty or no sound file.
    """
    try:
        samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, soundfile.SoundFileError) as error:
        raise HearingError(
            f"{path} cannot be read as a recording: {error}. Give a WAV or FLAC file."
        ) from error
    if len(samples) == 0:
        raise HearingError(f"{path} holds no sound. Give a recording of at least one word.")
    return to_rate(samples.mean(axis=1), rate_hz)


def to_rate(samples: np.ndarray, rate_hz: int) -> Sound:
    """Float samples, shape (frames,), in -1 to 1, as 16 kHz sound."""
    if rate_hz != RATE_HZ:
        samples = soxr.resample(samples, rate_hz, RATE_HZ)
    clipped = np.clip(np.round(samples * 32767), -32768, 32767)
    return Sound(clipped.astype("<i2").tobytes(), RATE_HZ)


def recording_length_s(path: Path) -> float:
    """Length of a recording, seconds. Raises HearingError when it cannot be read."""
    try:
        return float(soundfile.info(path).duration)
    except (OSError, soundfile.SoundFileError) as error:
        raise HearingError(
            f"{path} cannot be read as a recording: {error}. Give a WAV or FLAC file."
        ) from error


def whole_recording(path: Path) -> Utterance:
    """The file as one utterance, whatever pauses it holds."""
    sound = read_sound(path)
    return Utterance(sound, 0.0, sound.length_s, "file", str(path))


def recording_utterances(path: Path, patience_s: float | None = None) -> Iterator[Utterance]:
    """The utterances that the end-pointer finds in a file, streamed in small blocks."""
    pcm = read_sound(path).pcm
    step = 2 * BLOCK_FRAMES
    blocks = (pcm[at : at + step] for at in range(0, len(pcm), step))
    yield from _utterances(blocks, "file", str(path), patience_s)


def stream_utterances(
    stream: BinaryIO, rate_hz: int, patience_s: float | None = None
) -> Iterator[Utterance]:
    """Utterances from raw signed 16-bit little-endian mono sound, as it arrives."""
    yield from _utterances(_blocks(stream, rate_hz), "stream", "", patience_s)


def _blocks(stream: BinaryIO, rate_hz: int) -> Iterator[bytes]:
    resampler = soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="int16")
    left = b""
    while chunk := stream.read(2 * max(rate_hz // 10, 1)):
        chunk = left + chunk
        whole = len(chunk) // 2 * 2
        left, samples = chunk[whole:], np.frombuffer(chunk[:whole], "<i2")
        yield (
            samples.tobytes() if rate_hz == RATE_HZ else resampler.resample_chunk(samples).tobytes()
        )


def _utterances(
    blocks: Iterable[bytes], source: str, origin: str, patience_s: float | None
) -> Iterator[Utterance]:
    pointer = EndPointer() if patience_s is None else EndPointer(patience_s=patience_s)
    for block in blocks:
        for utterance in pointer.feed(block):
            yield _from(utterance, source, origin)
    for utterance in pointer.finish():
        yield _from(utterance, source, origin)


def _from(utterance: Utterance, source: str, origin: str) -> Utterance:
    if source == "file":
        return replace(utterance, source="file", origin=origin)
    return replace(utterance, source="stream")
