"""A pack gives back what went in: how long each recording is, how it sounds, and its phones."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from bayhelper.hear.engines.phones import pdf
from training import packing
from training.packing import ROWS, Said, pack, spelt, unpack
from training.sound_files import RATE_HZ, Samples, read, write
from training.synthesise import Line

DICTIONARY = {
    "buff": [["B", "AH1", "F"]],
    "either": [["IY1", "DH", "ER0"], ["AY1", "DH", "ER0"]],
    "roof": [["R", "UW1", "F"]],
}
SAYINGS = ("buff roof", "either", "Roof either buff", "roof", "buff")


def tone(hz: float, length: int) -> np.ndarray:
    return (0.3 * np.sin(2 * np.pi * hz * np.arange(length) / RATE_HZ)).astype(np.float32)


@pytest.fixture
def lines(tmp_path: Path) -> list[Line]:
    """Tones of their own pitch and length, one to a saying."""
    made = []
    for number, say in enumerate(SAYINGS):
        sound = tone(300.0 * (1 + number), 8000 + 1237 * number)
        write(tmp_path / "sounds" / f"{number}.flac", Samples(sound, RATE_HZ))
        made.append(Line(say, "espeak:en-gb", f"{number}.flac"))
    return made


def packed(lines: Sequence[Line], folder: Path) -> list[Said]:
    count = pack(lines, folder / "sounds", folder / "packed", DICTIONARY)
    said = list(unpack(folder / "packed"))
    assert len(said) == count
    return said


def pitch_hz(samples: np.ndarray) -> float:
    middle = samples[2000:-2000].astype(float)
    return float(np.abs(np.fft.rfft(middle)).argmax() * RATE_HZ / len(middle))


def test_words_have_the_phones_that_the_dictionary_gives_first() -> None:
    assert spelt("Either roof", DICTIONARY) == [pdf(p) for p in "IY DH ER R UW F".split()]
    with pytest.raises(KeyError, match="bonnet"):
        spelt("buff bonnet", DICTIONARY)


# Files that end within, at and after the last of the recordings.
@pytest.mark.parametrize("together", [2, 5, 400])
def test_each_recording_comes_back_in_its_place(
    lines: list[Line], tmp_path: Path, together: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(packing, "TOGETHER", together)
    said = packed(lines, tmp_path)
    files = list((tmp_path / "packed").glob("*.opus"))
    assert len(files) == -(-len(lines) // together)
    for number, (one, line) in enumerate(zip(said, lines, strict=True)):
        assert one.samples.dtype == np.int16
        assert len(one.samples) == 8000 + 1237 * number
        assert pitch_hz(one.samples) == pytest.approx(300 * (1 + number), abs=5)
        assert one.phones.tolist() == spelt(line.say, DICTIONARY)


def test_what_is_missing_or_unknown_is_passed_over(lines: list[Line], tmp_path: Path) -> None:
    (tmp_path / "sounds" / lines[1].out).unlink()
    unknown = Line("buff bonnet", "espeak:en-gb", lines[2].out)
    said = packed([*lines[:2], unknown, *lines[3:]], tmp_path)
    assert [len(one.samples) for one in said] == [8000, 8000 + 3 * 1237, 8000 + 4 * 1237]
    assert [len(one.phones) for one in said] == [6, 3, 3]


def test_of_nothing_there_is_an_empty_pack(tmp_path: Path) -> None:
    assert packed([], tmp_path) == []
    assert (tmp_path / "packed" / ROWS).exists()


def test_what_is_not_compressed_comes_back_as_it_was(lines: list[Line], tmp_path: Path) -> None:
    pack(lines, tmp_path / "sounds", tmp_path / "plain", DICTIONARY, plain=True)
    for line, said in zip(lines, unpack(tmp_path / "plain"), strict=True):
        expected = np.round(read(tmp_path / "sounds" / line.out).values * 32768)
        assert np.array_equal(said.samples, expected)
