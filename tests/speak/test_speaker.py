"""The loudspeaker on a PortAudio that the test turns: order, interruption, loss, loudness."""

from __future__ import annotations

import queue
import threading
import time
from concurrent.futures import Future

import numpy as np
import pytest

from bayhelper.speak import tones
from bayhelper.speak.speaker import Speaker
from bayhelper.speak.speaker_reports import Began, Ended, SpeakerState, VoiceFailed
from bayhelper.terms.errors import SoundError, SpeechError
from bayhelper.terms.sound import Sound

RATE_HZ = 48_000
BLOCK = 480


class Time:
    outputBufferDacTime = 0.05
    currentTime = 0.0


class Stream:
    """Asks for a block every two milliseconds: five times as fast as sound."""

    def __init__(self, audio, callback):
        self.audio, self.callback, self.active = audio, callback, False

    def start(self):
        self.active = True
        self.thread = threading.Thread(target=self.turn, daemon=True)
        self.thread.start()

    def turn(self):
        while self.active and not self.audio.dead:
            out = np.ones((BLOCK, 1), np.float32)
            self.callback(out, BLOCK, Time, None)
            self.audio.played.append(out[:, 0].copy())
            time.sleep(0.002)
        self.active = False

    def abort(self):
        self.active = False

    close = abort


class PortAudio:
    class PortAudioError(Exception):
        """As sounddevice raises."""

    def __init__(self):
        self.played, self.dead, self.absent = [], False, False

    def query_devices(self, device=None, kind=None):
        one = {"name": "Bay speaker", "max_output_channels": 2, "default_samplerate": RATE_HZ}
        return one if kind else [one]

    def OutputStream(self, *, callback, **given):
        if self.absent:
            raise self.PortAudioError("device unavailable")
        return Stream(self, callback)

    def samples(self):
        return np.concatenate(self.played) if self.played else np.zeros(0)


@pytest.fixture
def audio():
    return PortAudio()


@pytest.fixture
def reports():
    return queue.Queue()


@pytest.fixture
def speaker(audio, reports):
    with Speaker(reports.put, time.monotonic, maximum=0.5, library=lambda: audio) as one:
        yield one


def noise(seconds, level=0.2):
    samples = np.random.default_rng(1).uniform(-level, level, int(RATE_HZ * seconds))
    return Sound((samples * 32767).astype("<i2").tobytes(), RATE_HZ)


def until(reports, kind, number=None):
    while True:
        report = reports.get(timeout=5)
        if isinstance(report, kind) and (number is None or report.number == number):
            return report


def test_what_is_played_is_the_sound_at_the_loudness_that_was_set(speaker, audio, reports):
    sound = noise(0.3)
    speaker.say(1, [sound], 0, "words")
    began, ended = until(reports, Began, 1), until(reports, Ended, 1)
    assert ended.whole and began.text == "words"
    wanted = np.frombuffer(sound.pcm, "<i2") / 32768 * 0.5
    played = audio.samples()
    start = int(np.flatnonzero(np.abs(played) > 0)[0])
    start -= int(np.flatnonzero(wanted)[0])
    assert np.allclose(played[start : start + len(wanted)], wanted, atol=1e-4)


def test_tones_reach_the_device_at_their_own_pitch(speaker, audio, reports):
    speaker.say(1, [tones.render("soft")], 1)
    until(reports, Ended, 1)
    spectrum = np.abs(np.fft.rfft(audio.samples(), RATE_HZ))
    assert np.argmax(spectrum) == pytest.approx(660, abs=6)


def test_loudness_never_goes_above_the_maximum(speaker):
    speaker.set_gain(3.0)
    assert speaker.gain == 0.5
    speaker.set_gain(0.1)
    assert speaker.gain == 0.1


def test_an_urgent_line_cuts_off_a_reply_which_comes_again_after_it(speaker, reports):
    speaker.say(1, [noise(3)], 0, "reply")
    until(reports, Began, 1)
    speaker.say(2, [noise(0.2)], 3, "closing")
    cut = until(reports, Ended, 1)
    assert not cut.whole and cut.again
    until(reports, Ended, 2)
    assert until(reports, Ended, 1).whole


def test_among_lines_that_wait_the_most_urgent_is_first(speaker, reports):
    speaker.say(1, [noise(0.3)], 2)
    until(reports, Began, 1)
    for number, urgency in ((2, 0), (3, 1), (4, 2)):
        speaker.say(number, [noise(0.05)], urgency)
    order = [until(reports, Began).number for _ in range(3)]
    assert order == [4, 3, 2]


def test_a_tone_sounds_while_its_sentence_is_still_rendered(speaker, reports):
    words: Future[Sound] = Future()
    speaker.say(1, [noise(0.05), words], 2, "wipe now")
    until(reports, Began, 1)
    words.set_result(noise(0.05))
    assert until(reports, Ended, 1).whole


def test_a_sentence_that_cannot_be_rendered_is_reported_and_its_tone_is_heard(speaker, reports):
    words: Future[Sound] = Future()
    words.set_exception(SpeechError("no voice"))
    speaker.say(1, [noise(0.05), words], 2)
    until(reports, Began, 1)
    assert until(reports, VoiceFailed).text == "no voice"
    until(reports, Ended, 1)


def test_hush_stops_what_is_less_urgent_and_it_does_not_come_back(speaker, reports):
    speaker.say(1, [noise(3)], 0)
    until(reports, Began, 1)
    speaker.say(2, [noise(0.1)], 1)
    speaker.hush()
    ended = [until(reports, Ended), until(reports, Ended)]
    assert {one.number for one in ended} == {1, 2}
    assert not any(one.whole or one.again for one in ended)


def test_a_lost_device_is_told_once_and_tried_until_it_is_back(speaker, audio, reports):
    speaker.say(1, [noise(0.05)], 0)
    until(reports, Ended, 1)
    audio.absent = audio.dead = True
    lost = until(reports, SpeakerState)
    assert not lost.alive
    time.sleep(0.7)
    assert reports.empty()
    audio.absent = audio.dead = False
    assert until(reports, SpeakerState).alive
    speaker.say(2, [noise(0.05)], 0)
    assert until(reports, Ended, 2).whole


def test_without_portaudio_the_error_names_the_package(monkeypatch, reports):
    monkeypatch.setitem(__import__("sys").modules, "sounddevice", None)
    with pytest.raises(SoundError, match="libportaudio2"):
        Speaker(reports.put, time.monotonic)
