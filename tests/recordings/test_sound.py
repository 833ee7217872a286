"""Every recording is listed with its words and origin, and is fit to be listened to."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from training.speakers import parse_speaker

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
LISTS = (
    ("commands.toml", "command"),
    ("other_talk.toml", "other_talk"),
    ("noise.toml", "noise"),
    ("demo/recordings.toml", "line"),
)
DEMO_LIMIT_BYTES = 8_000_000
OTHERS_LIMIT_BYTES = 8_000_000
RATE_HZ = 16_000


@dataclass(frozen=True)
class Entry:
    path: Path
    row: dict[str, object]

    def __str__(self) -> str:
        return self.path.relative_to(FOLDER).as_posix()


def listed() -> list[Entry]:
    found: list[Entry] = []
    for name, heading in LISTS:
        listing = FOLDER / name
        if listing.exists():
            rows = tomllib.loads(listing.read_text("utf-8"))[heading]
            found += [Entry(listing.parent / str(row["file"]), row) for row in rows]
    return found


ENTRIES = listed()
SPEECH = [entry for entry in ENTRIES if entry.row["words"]]
NOISE = [entry for entry in ENTRIES if not entry.row["words"]]


def samples(path: Path) -> NDArray[np.float64]:
    values, _ = soundfile.read(path, dtype="float64")
    return np.asarray(values)


def dbfs(values: NDArray[np.float64]) -> float:
    return float(20 * np.log10(np.sqrt(np.mean(values**2)) + 1e-12))


def test_what_lies_in_the_folder_is_what_is_listed() -> None:
    there = sorted(path for path in FOLDER.rglob("*") if path.suffix in {".flac", ".wav", ".raw"})
    assert there == sorted(entry.path for entry in ENTRIES)
    assert len(there) > 80


@pytest.mark.parametrize("entry", SPEECH, ids=str)
def test_it_says_what_was_said_by_whom_and_what_made_it(entry: Entry) -> None:
    words = str(entry.row["words"])
    assert words == words.lower()
    assert all(c.isalpha() or c in "' " for c in words), "numbers are written as they are said"
    parse_speaker(str(entry.row["voice"]))
    assert any(name in str(entry.row["made_by"]) for name in ("Kokoro", "eSpeak", "flite"))


@pytest.mark.parametrize("entry", ENTRIES, ids=str)
def test_it_can_be_listened_to(entry: Entry) -> None:
    info = soundfile.info(entry.path)
    assert (info.samplerate, info.channels, info.format, info.subtype) == (
        RATE_HZ,
        1,
        "FLAC",
        "PCM_16",
    )
    assert info.duration == pytest.approx(entry.row["length_s"], abs=0.01)
    assert 0.9 <= info.duration <= 9.0
    values = samples(entry.path)
    assert np.abs(values).max() < 0.75, "clipped, or too near to it"
    assert np.any(values[:100]), "a microphone's silence is never a row of zeros"


@pytest.mark.parametrize("entry", SPEECH, ids=str)
def test_it_is_speech_between_two_silences(entry: Entry) -> None:
    values = samples(entry.path)
    edge = round(0.25 * RATE_HZ)
    assert dbfs(values[:edge]) < -60 and dbfs(values[-edge:]) < -60, "silence at both ends"
    assert -35 < dbfs(values[edge:-edge]) < -15


@pytest.mark.parametrize("entry", SPEECH, ids=str)
def test_it_is_spoken_at_the_pace_of_people(entry: Entry) -> None:
    # Speech runs at 3 to 7 syllables a second (from memory: Laver, Principles of Phonetics, 1994);
    # vowel groups stand for syllables, and the bounds are wide enough for pauses and short words.
    words = str(entry.row["words"])
    vowels = [c in "aeiouy" for c in words]
    groups = sum(now and not before for before, now in zip([False, *vowels], vowels, strict=False))
    speaking_s = float(str(entry.row["length_s"])) - 0.6
    assert 1.5 < groups / speaking_s < 9.0


def test_noise_is_as_loud_as_speech_and_never_pauses() -> None:
    assert len(NOISE) >= 4
    for entry in NOISE:
        assert entry.path.parent.name == "noise"
        quarters = np.array_split(samples(entry.path), 4)
        assert all(-34 < dbfs(quarter) < -26 for quarter in quarters)


def test_they_stay_small() -> None:
    sizes = {entry.path: entry.path.stat().st_size for entry in ENTRIES}
    demo = sum(size for path, size in sizes.items() if path.parent.name == "demo")
    assert demo < DEMO_LIMIT_BYTES
    assert sum(sizes.values()) - demo < OTHERS_LIMIT_BYTES


def pitch_hz(values: NDArray[np.float64]) -> float:
    """Median pitch over the voiced 40 ms frames, by autocorrelation."""
    size, found = round(0.04 * RATE_HZ), []
    low, high = RATE_HZ // 400, RATE_HZ // 60
    loud = np.sqrt(np.mean(values**2))
    for start in range(0, len(values) - size, size // 2):
        frame = values[start : start + size] - values[start : start + size].mean()
        if np.sqrt(np.mean(frame**2)) < loud:
            continue
        correlation = np.correlate(frame, frame, "full")[size - 1 :]
        lag = low + int(np.argmax(correlation[low:high]))
        if correlation[lag] > 0.5 * correlation[0]:
            found.append(RATE_HZ / lag)
    return float(np.median(found))


def median_pitch(voice: str) -> float:
    paths = [entry.path for entry in SPEECH if entry.row["voice"] == voice]
    return float(np.median([pitch_hz(samples(path)) for path in paths[:12]]))


def test_two_technicians_cannot_be_confused() -> None:
    # Speaking pitch: men 85 to 155 Hz, women 165 to 255 Hz
    # (from memory: Titze, Principles of Voice Production, 1994).
    assert 165 < median_pitch("kokoro:bf_emma") < 255
    assert 85 < median_pitch("kokoro:bm_george") < 155
    listing = FOLDER / "demo" / "recordings.toml"
    if listing.exists():
        rows = tomllib.loads(listing.read_text("utf-8"))["line"]
        voices = {(row["who"], row["voice"]) for row in rows}
        assert len({who for who, _ in voices}) == len({voice for _, voice in voices}) == len(voices)
