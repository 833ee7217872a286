"""Speech of any level ends at one level, and a file is written whole or not at all."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from training.sound_files import Samples, read, recording, write


def tone(level: float, length_s: float = 1.0, rate_hz: int = 24_000) -> Samples:
    t = np.arange(round(length_s * rate_hz)) / rate_hz
    return Samples((level * np.sin(2 * np.pi * 220 * t)).astype(np.float32), rate_hz)


@pytest.mark.parametrize("level", [0.001, 0.1, 0.99])
def test_loud_and_soft_speech_end_at_one_level(level: float) -> None:
    # A sine of -23 dBFS RMS peaks 3.01 dB higher: its crest factor is the square root of two.
    made = recording(tone(level), "seed")
    middle = made.values[made.rate_hz // 2 : -made.rate_hz // 2]
    assert 20 * np.log10(np.abs(middle).max()) == pytest.approx(-23 + 3.01, abs=0.3)
    assert len(made.values) / made.rate_hz == pytest.approx(1.6, abs=0.06)


def test_a_sharp_sound_is_turned_down_rather_than_clipped() -> None:
    speech = tone(0.1)
    speech.values[5000] = 1.0
    assert np.abs(recording(speech, "seed").values).max() <= 0.71


def test_the_same_seed_gives_the_same_file(tmp_path: Path) -> None:
    for name in ("a.flac", "b.flac"):
        write(tmp_path / name, recording(tone(0.1), "seed"))
    assert (tmp_path / "a.flac").read_bytes() == (tmp_path / "b.flac").read_bytes()
    assert read(tmp_path / "a.flac").rate_hz == 16_000


def test_a_recording_is_written_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks_off(path: Path, *_: object, **__: object) -> None:
        path.write_bytes(b"half of it")
        raise KeyboardInterrupt

    monkeypatch.setattr(soundfile, "write", breaks_off)
    with pytest.raises(KeyboardInterrupt):
        write(tmp_path / "a.flac", Samples(np.zeros(9, np.float32), 16_000))
    assert not (tmp_path / "a.flac").exists()
