"""Whether tones are plain in noise: the rule's edges, and the way from recordings to the advice."""

import json

import numpy as np
import pytest
import soundfile

from bayhelper.reckon.audible import judge_room
from bayhelper.reckon.loudness import BANDS_HZ
from bayhelper.run.cli import main
from bayhelper.run.tone_recording import TONES
from bayhelper.speak import tones
from bayhelper.terms.errors import ReckonError
from bayhelper.terms.sound import Sound

RATE_HZ = 22_050


def noise(level, seconds=4.0, seed=1):
    return np.random.default_rng(seed).normal(0, level, int(seconds * RATE_HZ))


def with_tone(name, level, gain):
    """The tone half a second into noise of the same level but not the same samples."""
    samples = noise(level, 1.5, seed=2)
    pcm = np.frombuffer(tones.render(name).pcm, "<i2") / 32768
    samples[RATE_HZ // 2 : RATE_HZ // 2 + len(pcm)] += gain * pcm
    return samples


def sound(samples):
    return Sound((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes(), RATE_HZ)


def judged(level, gain):
    return judge_room(
        sound(noise(level)), [(name, sound(with_tone(name, level, gain))) for name in TONES]
    )


def test_tones_far_above_the_noise_are_plain_and_need_no_advice():
    for report in judged(0.003, 0.8):
        assert report.heard and report.advice == "" and report.a_above_db > 15


def test_tones_that_drown_are_told_with_what_is_missing():
    for report in judged(0.2, 0.05):
        assert not report.heard and "dB short" in report.advice and "headset" in report.advice


def test_a_tone_gains_in_its_own_octave_as_much_as_it_gets_louder():
    """20 dB more on the loudspeaker are 20 dB more above the same noise (definition of the dB)."""
    soft, loud = (judged(0.003, gain)[0] for gain in (0.08, 0.8))
    own = min(range(len(BANDS_HZ)), key=lambda n: abs(np.log(BANDS_HZ[n] / 660)))
    assert loud.above_db[own] - soft.above_db[own] == pytest.approx(20, abs=1)


def test_silence_is_no_verdict():
    still = sound(np.zeros(RATE_HZ * 2))
    with pytest.raises(ReckonError, match="heard nothing"):
        judge_room(still, [(name, still) for name in TONES])


def test_the_command_judges_recordings(tmp_path, capsys):
    files = [tmp_path / "noise.wav", *(tmp_path / f"{name}.wav" for name in TONES)]
    soundfile.write(files[0], noise(0.003), RATE_HZ)
    for file, name in zip(files[1:], TONES, strict=True):
        soundfile.write(file, with_tone(name, 0.003, 0.8), RATE_HZ)
    given = ["check", "--data", str(tmp_path), "--room-files", *map(str, files)]
    assert main(given) == 0
    out = capsys.readouterr().out
    assert out.count("plain") >= len(TONES) and "no sound level" in out
    assert main([*given, "--json"]) == 0
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [row["tone"] for row in rows] == list(TONES)
    assert all(row["heard"] and set(row["above_db"]) >= {"500", "1000", "2000"} for row in rows)
    assert main(given[:-1]) == 1
    assert "Expected 4 recordings" in capsys.readouterr().err
