"""Recordings as sources: WAV and FLAC files, raw sound on a stream."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

import numpy as np

from bayhelper.hear.capture.cleaned_pointer import CleanedPointer, open_pointer
from bayhelper.hear.capture.denoise import open_suppressor
from bayhelper.hear.capture.endpoint import RATE_HZ, Complete, EndPointer
from bayhelper.hear.capture.levels import range_db
from bayhelper.sound.files import open_sound, sound_length_s
from bayhelper.sound.resampling import Resampler
from bayhelper.sound.samples import PEAK, floats, pcm16
from bayhelper.terms.errors import HearingError, SoundError
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Utterance

RATES_HZ = (8_000, 192_000)
"""From the telephone to studio sound."""


def read_sound(path: Path) -> Sound:
    """A whole WAV or FLAC file as 16 kHz mono.

    Raises HearingError when it is missing, empty or no sound file.
    """
    return Sound(b"".join(_file_blocks(path)), RATE_HZ)


def _file_blocks(path: Path) -> Iterator[bytes]:
    """A file as 16 kHz mono, a tenth of a second after another."""
    try:
        with open_sound(path) as file:
            if file.frames == 0:
                raise HearingError(f"{path} holds no sound. Give a recording of at least one word.")
            resampler = Resampler(file.rate_hz, RATE_HZ)
            for block in file.blocks:
                if not np.isfinite(block).all():
                    raise HearingError(
                        f"{path} has samples that are no numbers (NaN or infinite). Export the "
                        "recording again."
                    )
                yield pcm16(resampler.feed(block), PEAK)
            yield pcm16(resampler.finish(), PEAK)
    except SoundError as error:
        raise _no_recording(error) from error


def recording_length_s(path: Path) -> float:
    """Length of a recording, seconds. Raises HearingError when it cannot be read."""
    try:
        return sound_length_s(path)
    except SoundError as error:
        raise _no_recording(error) from error


def _no_recording(error: SoundError) -> HearingError:
    return HearingError(f"{error} Give a WAV or FLAC file.")


def whole_recording(path: Path, suppressor: str = "off") -> Utterance:
    """The file as one utterance, whatever pauses it holds; `suppressor` as below."""
    sound = read_sound(path)
    raw_range_db = None
    cleaner = open_suppressor(suppressor)
    if cleaner is not None:
        raw_range_db = range_db(sound)
        sound = Sound(cleaner.feed(sound.pcm) + cleaner.finish(), RATE_HZ)
        cleaner.close()
    return Utterance(sound, 0.0, sound.length_s, "file", str(path), range_db=raw_range_db)


def recording_utterances(
    path: Path,
    patience_s: float | None = None,
    suppressor: str = "off",
    complete: Complete | None = None,
) -> Iterator[Utterance]:
    """The utterances that the end-pointer finds in a file, streamed in small blocks.

    `suppressor` is a name as hear.denoise.open_suppressor takes it.
    """
    pointer = open_pointer(patience_s, suppressor, complete)
    yield from _utterances(_file_blocks(path), "file", str(path), pointer)


def stream_utterances(
    stream: BinaryIO,
    rate_hz: int,
    patience_s: float | None = None,
    suppressor: str = "off",
    complete: Complete | None = None,
) -> Iterator[Utterance]:
    """Utterances from raw signed 16-bit little-endian mono sound, as it arrives.

    Raises HearingError for a rate at which speech cannot come.
    """
    low, high = RATES_HZ
    if not low <= rate_hz <= high:
        raise HearingError(f"Expected sound of {low} to {high} samples a second, not {rate_hz}.")
    pointer = open_pointer(patience_s, suppressor, complete)
    yield from _utterances(_stream_blocks(stream, rate_hz), "stream", "", pointer)


def _stream_blocks(stream: BinaryIO, rate_hz: int) -> Iterator[bytes]:
    resampler = Resampler(rate_hz, RATE_HZ)
    left = b""
    while chunk := stream.read(2 * (rate_hz // 10)):
        chunk = left + chunk
        whole = len(chunk) // 2 * 2
        left = chunk[whole:]
        yield pcm16(resampler.feed(floats(chunk[:whole], PEAK)), PEAK)
    yield pcm16(resampler.finish(), PEAK)


def _utterances(
    blocks: Iterable[bytes], source: str, origin: str, pointer: EndPointer | CleanedPointer
) -> Iterator[Utterance]:
    for block in blocks:
        for utterance in pointer.feed(block):
            yield _from(utterance, source, origin)
    for utterance in pointer.finish():
        yield _from(utterance, source, origin)


def _from(utterance: Utterance, source: str, origin: str) -> Utterance:
    if source == "file":
        return replace(utterance, source="file", origin=origin)
    return replace(utterance, source="stream")
