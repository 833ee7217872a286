"""Microphones on a PortAudio that is played by the test: blocks, losses, returns, and choice."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bayhelper.hear.capture import microphone as module
from bayhelper.hear.capture.caught import Caught, LineSpan, Pause, best_of
from bayhelper.hear.capture.endpoint import FRAME_BYTES
from bayhelper.hear.capture.levels import level_db
from bayhelper.hear.capture.listening import Listening
from bayhelper.hear.capture.microphone import Heard, Microphones, Wanted
from bayhelper.hear.capture.recording import read_sound
from bayhelper.hear.capture.room import Room
from bayhelper.terms.errors import SoundError
from tests.known import known_as

COMMANDS = Path(__file__).parents[2] / "audio_fixtures" / "commands"
SPEECH = read_sound(COMMANDS / "ask_where_1.flac").pcm
DEVICES = (
    {"name": "Onboard, line", "max_input_channels": 2, "default_samplerate": 44100.0},
    {"name": "Headset A", "max_input_channels": 1, "default_samplerate": 48000.0},
    {"name": "Loudspeaker", "max_input_channels": 0, "default_samplerate": 48000.0},
)


class Status:
    input_overflow = False


class Stream:
    def __init__(self, **given):
        self.given, self.active = given, False

    def start(self):
        self.active = True

    def abort(self):
        self.active = False

    def close(self):
        self.active = False

    def deliver(self, samples, status=None):
        self.given["callback"](samples.astype("<i2").tobytes(), len(samples), None, status)


class PortAudio:
    """As much of sounddevice as is called."""

    class PortAudioError(Exception):
        """As sounddevice raises."""

    def __init__(self):
        self.devices, self.streams, self.restarts = list(DEVICES), [], 0

    def query_devices(self, device=None, kind=None):
        if kind and not self.devices:
            raise self.PortAudioError("no default device")
        return self.devices[0] if kind else self.devices

    def RawInputStream(self, **given):
        if not self.devices:
            raise self.PortAudioError("no such device")
        self.streams.append(Stream(**given))
        return self.streams[-1]

    def _terminate(self):
        self.restarts += 1

    def _initialize(self):
        pass


class Clock:
    now_s = 100.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def audio():
    return PortAudio()


def opened(audio, clock, *wanted):
    microphones = Microphones(wanted, clock, lambda: audio)
    microphones.poll()
    return microphones


def test_blocks_come_out_at_16_khz_with_the_time_they_were_caught(audio, clock):
    microphones = opened(audio, clock, Wanted("headset"))
    (stream,) = audio.streams
    assert stream.given["samplerate"] == 48000 and stream.given["device"] == 1
    tone = 8000 * np.sin(2 * np.pi * 440 * np.arange(48000) / 48000)
    found = []
    for block in tone.reshape(50, -1):
        clock.now_s += 0.02
        stream.deliver(block)
        found.append(microphones.read(0))
    samples = np.frombuffer(b"".join(one.pcm for one in found), "<i2")
    assert len(samples) == pytest.approx(16000, abs=400)
    spectrum = np.abs(np.fft.rfft(samples[-8000:]))
    assert np.argmax(spectrum) * 2 == 440
    assert found[-1].end_s == pytest.approx(clock.now_s, abs=0.002)


def test_a_block_that_arrives_late_keeps_the_time_of_its_sound(audio, clock):
    microphones = opened(audio, clock, Wanted())
    block = np.zeros(441)
    for _ in range(20):
        clock.now_s += 0.01
        audio.streams[0].deliver(block)
    caught_s = clock.now_s + 0.01
    clock.now_s += 0.31
    audio.streams[0].deliver(block)
    last = [microphones.read(0) for _ in range(21)][-1]
    assert last.end_s == pytest.approx(caught_s, abs=0.003)


def test_what_the_queue_has_no_room_for_is_counted(audio, clock):
    microphones = opened(audio, clock, Wanted())
    for _ in range(module.KEPT_BLOCKS + 7):
        audio.streams[0].deliver(np.zeros(882))
    assert microphones.dropped == 7
    status = Status()
    status.input_overflow = True
    while microphones.read(0) is not None:
        pass
    audio.streams[0].deliver(np.zeros(882), status)
    microphones.read(0)
    assert microphones.lost_by_device == 1


@pytest.mark.parametrize("how", ["no blocks", "ended"])
def test_a_dead_stream_is_told_once_and_opened_again_later_and_later(audio, clock, how):
    microphones = opened(audio, clock, Wanted())
    if how == "ended":
        audio.streams[0].active = False
    clock.now_s += 1.1
    audio.devices = []
    (state,) = microphones.poll()
    assert not state.alive
    tries = []
    look_again = audio._terminate

    def terminate():
        tries.append(clock.now_s)
        look_again()

    audio._terminate = terminate
    for _ in range(200):
        clock.now_s += 0.1
        assert microphones.poll() == [], "told once"
    gaps = np.diff(tries)
    assert list(gaps) == sorted(gaps) and gaps[-1] == pytest.approx(5, abs=0.2)
    audio.devices = list(DEVICES)
    clock.now_s += 5.1
    assert microphones.poll() == [], "open again, but nothing came of it yet"
    audio.streams[-1].deliver(np.zeros(882))
    (state,) = microphones.poll()
    assert state.alive and microphones.read(0) is not None


def test_a_device_that_opens_and_stays_silent_is_not_back(audio, clock):
    microphones = opened(audio, clock, Wanted())
    told = []
    for _ in range(300):
        clock.now_s += 0.1
        told += microphones.poll()
    assert [state.alive for state in told] == [False]
    assert 5 <= len(audio.streams) <= 10


def test_a_block_of_a_stream_that_died_is_not_taken_for_one_of_the_next(audio, clock):
    microphones = opened(audio, clock, Wanted())
    audio.streams[0].deliver(np.zeros(882))
    clock.now_s += 1.1
    microphones.poll()
    assert microphones.read(0) is None


def test_an_unknown_name_says_which_microphones_there_are(audio, clock):
    microphones = Microphones([Wanted("lapel")], clock, lambda: audio)
    (state,) = microphones.poll()
    assert not state.alive
    for part in ("lapel", "Headset A", "Onboard", "microphones"):
        assert part in state.text
    assert "Loudspeaker" not in state.text


def test_without_portaudio_the_error_names_the_package(monkeypatch, clock):
    monkeypatch.setitem(__import__("sys").modules, "sounddevice", None)
    with pytest.raises(SoundError, match="libportaudio2"):
        Microphones([Wanted()], clock)


def louder(pcm, factor):
    return (np.frombuffer(pcm, "<i2") * factor).astype("<i2").tobytes()


def frames(pcm, began_s):
    for at in range(0, len(pcm), FRAME_BYTES):
        yield pcm[at : at + FRAME_BYTES], began_s + (at + FRAME_BYTES) / 32000


def silence(seconds):
    noise = np.random.default_rng(3).normal(0, 3, int(16000 * seconds))
    return noise.astype("<i2").tobytes()


def utterances(found):
    return [one for one in found if isinstance(one, Caught)]


def test_an_utterance_knows_when_it_was_spoken():
    ear = Listening(Wanted("desk", "Robin"))
    (caught,) = [
        one
        for frame, end_s in frames(silence(1) + SPEECH + silence(2), 50.0)
        for one in utterances(ear.feed(frame, end_s))
    ]
    loud = np.flatnonzero(np.abs(np.frombuffer(SPEECH, "<i2")) > 600) / 16000
    assert caught.onset_s == pytest.approx(51 + loud[0], abs=0.2)
    assert caught.ended_s == pytest.approx(51 + loud[-1], abs=0.2)
    assert (caught.utterance.origin, caught.utterance.speaker) == ("desk", "Robin")
    assert caught.over == ()


@pytest.mark.parametrize("answer_s", [0.0, 0.2, None])
def test_a_pause_that_proves_to_be_the_end_ends_it_with_the_same_sound(answer_s):
    room = Room([Wanted("desk")])
    pauses: list[Pause] = []
    caught: list[Caught] = []
    answer_at_s = float("inf")
    for frame, end_s in frames(silence(1) + SPEECH + silence(2), 50.0):
        if end_s >= answer_at_s:
            room.end(pauses[-1].number)
        for one in room.feed(Heard(0, frame, end_s)):
            if isinstance(one, Caught):
                caught.append(one)
            else:
                pauses.append(one)
                asked_s = end_s
                answer_at_s = float("inf") if answer_s is None else end_s + answer_s
    assert len(caught) == 1
    assert caught[0].utterance.sound == pauses[-1].caught.utterance.sound
    assert asked_s - caught[0].ended_s == pytest.approx(0.3, abs=0.1)
    waited_s = caught[0].closed_s - asked_s
    assert waited_s == pytest.approx(0.5 if answer_s is None else answer_s, abs=0.07)


def test_an_answer_about_an_earlier_pause_ends_nothing():
    room = Room([Wanted()])
    found = []
    for frame, end_s in frames(silence(1) + SPEECH + SPEECH + silence(2), 50.0):
        found += room.feed(Heard(0, frame, end_s))
        numbers = [one.number for one in found if isinstance(one, Pause)]
        if numbers[1:]:
            room.end(numbers[-2])
    (whole,) = utterances(found)
    assert whole.utterance.sound.length_s > 2 * len(SPEECH) / 32000 - 0.6
    assert len(numbers) > 1


def test_several_microphones_tell_of_no_pause():
    room = Room([Wanted("a"), Wanted("b")])
    found = []
    for frame, end_s in frames(silence(1) + SPEECH + silence(2), 50.0):
        found += room.feed(Heard(0, frame, end_s)) + room.feed(Heard(1, frame, end_s))
    assert [type(one) for one in found] == [Caught]


def test_a_command_200_ms_after_our_line_is_an_utterance_of_its_own():
    """The echo of a line of ours, then real speech, with less than the patience between them."""
    ear = Listening(Wanted())
    line = louder(read_sound(COMMANDS / "ask_next_1.flac").pcm, 0.3)
    loud = np.flatnonzero(np.abs(np.frombuffer(line, "<i2")) > 300)
    line = line[: 2 * int(loud[-1])]
    onset = int(np.flatnonzero(np.abs(np.frombuffer(SPEECH, "<i2")) > 600)[0])
    sound = silence(1) + line + silence(0.2) + SPEECH[2 * onset :] + silence(2)
    ended_s = 51 + len(line) / 32000
    caught = []
    for frame, end_s in frames(sound, 50.0):
        if end_s >= 51 and not ear._spans:
            ear.sounding(LineSpan(1, 51.0, float("inf"), "what comes next"))
        if end_s >= ended_s - 0.03 and ear._spans[-1:] and ear._spans[-1].end_s > ended_s:
            ear.sounding(LineSpan(1, 51.0, ended_s, "what comes next"))
        caught += utterances(ear.feed(frame, end_s))
    ours, theirs = caught
    assert [span.text for span in ours.over] == ["what comes next"]
    assert theirs.over == ()
    heard_s = theirs.utterance.sound.length_s
    assert heard_s == pytest.approx((len(SPEECH) / 2 - onset) / 16000, abs=0.5)


def test_a_tone_of_ours_cuts_nobodys_command_in_two():
    """A tone ends in every gap between the words, where the sound falls as it does after a line."""
    cuts: dict[str, set[int]] = {"": set(), "wipe it now": set()}
    for text, found in cuts.items():
        for nth in range(8):
            ear, caught = Listening(Wanted()), []
            ended_s = 51.2 + 0.2 * nth
            for frame, end_s in frames(silence(1) + SPEECH + silence(2), 50.0):
                if end_s >= 51 and not ear._spans:
                    ear.sounding(LineSpan(1, 51.0, float("inf"), text))
                if end_s >= ended_s and ear._spans[-1].end_s > ended_s:
                    ear.sounding(LineSpan(1, 51.0, ended_s, text))
                caught += utterances(ear.feed(frame, end_s))
            found.add(len(caught))
    assert cuts == {"": {1}, "wipe it now": {1, 2}}


def test_of_two_microphones_the_clearer_is_taken_and_a_headset_says_who():
    wanted = [Wanted("desk"), Wanted("headset", "Robin")]
    room = Room(wanted)
    far = frames(silence(1) + louder(SPEECH, 0.3) + silence(2), 10.0)
    near = frames(silence(1) + SPEECH + silence(2), 10.0)
    caught = []
    for (there, end_s), (here, _) in zip(far, near, strict=True):
        caught += room.feed(Heard(0, there, end_s))
        caught += room.feed(Heard(1, here, end_s))
    taken = [known_as(Caught, one).utterance for one in caught]
    assert [(one.origin, one.speaker) for one in taken] == [("headset", "Robin")]


def test_two_people_who_speak_one_after_the_other_are_both_heard():
    ear = Listening(Wanted("desk"))
    (one,) = [
        found
        for frame, end_s in frames(silence(1) + SPEECH + silence(2), 0.0)
        for found in utterances(ear.feed(frame, end_s))
    ]
    later = replace(
        one,
        onset_s=one.ended_s + 0.5,
        ended_s=one.ended_s + 2,
        utterance=replace(one.utterance, origin="headset"),
    )
    assert best_of([later, one]) == [one, later]


def test_noise_without_an_end_is_told_as_blindness():
    """A detector that hears speech in everything, as it does in the worst noise."""

    class Always:
        speaking = True

        def feed(self, block):
            return []

        def finish(self):
            return []

    ear = Listening(Wanted(), lambda complete: Always())
    blind_s = None
    for frame, end_s in frames(silence(22), 0.0):
        ear.feed(frame, end_s)
        if ear.blind and blind_s is None:
            blind_s = end_s
    assert blind_s == pytest.approx(20, abs=0.2)
    ear._pointer = Listening(Wanted())._pointer
    for frame, end_s in frames(silence(3), 22.0):
        ear.feed(frame, end_s)
    assert not ear.blind


def test_levels_are_decibels_of_full_scale():
    square = np.where(np.arange(1000) % 2, 16384, -16384).astype("<i2").tobytes()
    assert level_db(square) == pytest.approx(-6.02, abs=0.01)
    assert level_db(b"") == -100
