"""Tones as they sound: rhythm and pitch are measured in the sound, not read from its recipe."""

import numpy as np
import pytest

from bayhelper.speak import tones

URGENCIES = ("soft", "due", "urgent")
FRAME_S = 0.01


def frames(name):
    sound = tones.render(name)
    samples = np.frombuffer(sound.pcm, "<i2") / 32768
    size = int(FRAME_S * sound.rate_hz)
    return samples[: len(samples) // size * size].reshape(-1, size), sound.rate_hz


def pitches_hz(name):
    """The strongest pitch of each loud frame."""
    cut, rate_hz = frames(name)
    loud = cut[(cut**2).mean(axis=1) > 0.1 * (cut**2).mean(axis=1).max()]
    spectra = np.abs(np.fft.rfft(loud * np.hanning(loud.shape[1]), n=8192, axis=1))
    return np.fft.rfftfreq(8192, 1 / rate_hz)[spectra.argmax(axis=1)]


def strokes(name):
    """How often the tone begins: after a silence, or with a jump of pitch."""
    cut, _ = frames(name)
    loud = (cut**2).mean(axis=1) > 1e-4
    onsets = int(loud[0]) + int((np.diff(loud.astype(int)) == 1).sum())
    jumps = int((np.abs(np.diff(pitches_hz(name))) > 100).sum())
    return max(onsets, jumps + 1)


def test_more_urgent_is_more_strokes_and_a_higher_pitch():
    """Urgency told by rhythm and pitch: common practice, no source."""
    assert strokes("soft") < strokes("due") < strokes("urgent")
    highest = [float(np.max(pitches_hz(name))) for name in URGENCIES]
    assert highest[0] * 1.2 < highest[1] and highest[1] * 1.2 < highest[2]


def test_urgencies_are_told_apart_without_loudness():
    levels = [np.abs(frames(name)[0]).max() for name in URGENCIES]
    assert max(levels) / min(levels) < 1.12  # within one decibel


@pytest.mark.parametrize("name", list(tones.PATTERNS))
def test_every_tone_begins_and_ends_without_a_click_and_is_short(name):
    cut, _ = frames(name)
    flat = cut.ravel()
    assert np.abs(flat[:4]).max() < 0.05 and np.abs(flat[-4:]).max() < 0.05
    assert len(flat) / tones.RATE_HZ < 0.7


def test_every_tone_differs_from_every_other_in_strokes_pitch_or_length():
    marks = {
        name: (strokes(name), round(float(np.median(pitches_hz(name))), -1), len(frames(name)[0]))
        for name in tones.PATTERNS
    }
    assert len(set(marks.values())) == len(marks)
