"""Octave levels, A-weighting and the ISO 7731 rule against published figures."""

import numpy as np
import pytest

from bayhelper.reckon import loudness as ld
from bayhelper.speak import tones
from bayhelper.terms.errors import ReckonError
from bayhelper.terms.sound import Sound

# IEC 61672-1, table of A-weighting (from memory).
TABLE_DB = (-26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)
QUIET = (-90.0,) * 8


def sine(hz, level=0.5, rate=44_100):
    t = np.arange(rate) / rate
    return Sound((np.sin(2 * np.pi * hz * t) * level * 32767).astype("<i2").tobytes(), rate)


@pytest.mark.parametrize(("mid", "db"), list(zip(ld.BANDS_HZ, TABLE_DB, strict=True)))
def test_a_weighting(mid, db):
    assert ld.a_weight_db(mid) == pytest.approx(db, abs=0.1)


@pytest.mark.parametrize("n", range(8))
def test_a_sine_lies_in_its_own_octave(n):
    levels = ld.band_levels_db(sine(round(ld.BANDS_HZ[n])))
    # A sine of amplitude 0.5 has mean square 1/8: -9.03 dB (arithmetic).
    assert levels[n] == pytest.approx(-9.03, abs=0.05)
    assert all(x < -40 for i, x in enumerate(levels) if i != n)


def test_masking_spreads_upwards_only():
    noise = (-90.0, -90.0, -20.0, *(-90.0,) * 5)
    assert ld.masked_threshold_db(noise)[1:5] == (-90.0, -20.0, -27.5, -35.0)


@pytest.mark.parametrize(("above", "plain"), [(12.9, False), (13.1, True)])
def test_edge_of_the_octave_rule(above, plain):
    noise = (-30.0,) * 8
    tone = (*QUIET[:4], -30.0 + above, *QUIET[5:])
    assert ld.heard(tone, noise) is plain


@pytest.mark.parametrize(("above", "plain"), [(14.9, False), (15.1, True)])
def test_edge_of_the_a_level_rule_outside_the_signal_octaves(above, plain):
    noise = (*QUIET[:6], -30.0, QUIET[7])
    tone = (*QUIET[:6], -30.0 + above, QUIET[7])
    assert ld.heard(tone, noise) is plain


def test_too_short_is_told():
    with pytest.raises(ReckonError, match=r"0\.1 s"):
        ld.band_levels_db(Sound(b"\0\0", 8000))


@pytest.mark.parametrize("name", list(tones.PATTERNS))
def test_every_tone_has_its_energy_where_danger_signals_have_it(name):
    sound = tones.render(name)
    power = np.abs(np.fft.rfft(np.frombuffer(sound.pcm, "<i2").astype(float))) ** 2
    hz = np.fft.rfftfreq(sound.frames, 1 / sound.rate_hz)
    # ISO 7731 (from memory): 500 to 2500 Hz, with enough below 1500 Hz.
    assert power[(hz >= 500) & (hz <= 2500)].sum() > 0.9 * power.sum()
    assert power[(hz >= 500) & (hz < 1500)].sum() > 0.5 * power.sum()
