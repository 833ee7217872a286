"""Sound files, rates and samples: what is written is read back, and what is wrong is told."""

import numpy as np
import pytest

from bayhelper.sound.files import flac, load_sound, open_sound, sound_length_s
from bayhelper.sound.resampling import Resampler, resampled
from bayhelper.sound.samples import PEAK, STEPS, floats, pcm16
from bayhelper.sound.wav import write_wav
from bayhelper.terms.errors import SoundError
from bayhelper.terms.sound import Sound

SOUND = Sound(np.random.default_rng(1).integers(-32768, 32768, 4410, "<i2").tobytes(), 44_100)


def test_what_is_written_is_read_back_sample_for_sample(tmp_path):
    (tmp_path / "a.flac").write_bytes(flac(SOUND))
    write_wav(tmp_path / "a.wav", SOUND)
    for file in tmp_path.iterdir():
        assert load_sound(file) == SOUND
        assert sound_length_s(file) == pytest.approx(0.1)
        with open_sound(file) as opened:
            assert (opened.rate_hz, opened.frames) == (44_100, 4410)
            assert pcm16(np.concatenate(list(opened.blocks)), STEPS) == SOUND.pcm


@pytest.mark.parametrize("content", [None, b"", b"RIFF no sound at all"])
def test_what_is_no_sound_file_is_told_by_its_name(tmp_path, content):
    file = tmp_path / "x.wav"
    if content is not None:
        file.write_bytes(content)
    for ask in (load_sound, sound_length_s, lambda path: open_sound(path).__enter__()):
        with pytest.raises(SoundError, match=r"x\.wav cannot be read as a recording"):
            ask(file)


def test_samples_that_are_too_loud_are_clipped():
    assert floats(pcm16(np.array([2.0, -2.0], np.float32), PEAK), PEAK)[0] == 1.0
    assert list(np.frombuffer(pcm16(np.array([2.0, -2.0], np.float32), STEPS), "<i2")) == [
        PEAK,
        -STEPS,
    ]


@pytest.mark.parametrize(("from_hz", "to_hz"), [(44_100, 16_000), (16_000, 48_000)])
def test_sound_comes_out_the_same_in_pieces_and_at_once(from_hz, to_hz):
    tone = np.sin(2 * np.pi * 440 * np.arange(from_hz) / from_hz).astype(np.float32)
    stream = Resampler(from_hz, to_hz)
    pieces = [stream.feed(piece) for piece in np.array_split(tone, 37)]
    out = np.concatenate([*pieces, stream.finish()])
    assert len(out) == to_hz
    assert np.allclose(out, resampled(tone, from_hz, to_hz), atol=1e-3)
    assert np.argmax(np.abs(np.fft.rfft(out))) == 440


def test_the_same_rate_is_left_alone():
    stream = Resampler(16_000, 16_000)
    tone = np.ones(8, np.float32)
    assert stream.feed(tone) is tone and len(stream.finish()) == 0
    assert resampled(tone, 16_000, 16_000) is tone
