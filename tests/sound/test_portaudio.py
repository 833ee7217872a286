"""Finding and closing devices, on a PortAudio that the test makes up."""

import threading

import pytest

from bayhelper.sound.portaudio import BACK_OFF_S, back_off_s, find_device, look_again, shut
from bayhelper.terms.errors import SoundError


class PortAudio:
    class PortAudioError(Exception):
        """As sounddevice raises."""

    def query_devices(self, device=None, kind=None):
        one = {"max_input_channels": 0, "max_output_channels": 2, "default_samplerate": 48000.0}
        names = ("Bay speaker left", "Bay speaker", "Headset")
        rows = [one | {"name": name} for name in names]
        rows[2] |= {"max_input_channels": 1, "default_samplerate": 16000.0}
        return rows[0] if kind else rows

    def _terminate(self):
        raise self.PortAudioError("no host")


@pytest.mark.parametrize(
    ("fragment", "direction", "found"),
    [
        ("", "output", (None, 48000)),
        ("speaker", "output", (0, 48000)),
        ("bay speaker", "output", (1, 48000)),  # of that name, though another holds it too
        ("head", "input", (2, 16000)),
    ],
)
def test_a_device_is_found_by_a_part_of_its_name(fragment, direction, found):
    assert find_device(PortAudio(), fragment, direction) == found


def test_a_name_that_no_device_has_is_told_with_those_there_are():
    with pytest.raises(SoundError, match=r"No loudspeaker.*Bay speaker, Headset.*'speaker'"):
        find_device(PortAudio(), "radio", "output")
    with pytest.raises(SoundError, match=r"No microphone.*There are: Headset\..*'microphones'"):
        find_device(PortAudio(), "speaker", "input")


def test_a_sound_system_that_is_gone_is_told():
    with pytest.raises(SoundError, match="no host"):
        look_again(PortAudio())


def test_waits_grow_up_to_the_last():
    assert [back_off_s(tries) for tries in range(7)] == [
        *BACK_OFF_S,
        BACK_OFF_S[-1],
        BACK_OFF_S[-1],
    ]


class Stream:
    def __init__(self, abort):
        self.abort, self.closed = abort, False

    def close(self):
        self.closed = True


def test_a_stream_that_hangs_is_left_and_told():
    let_go = threading.Event()
    try:
        assert not shut(PortAudio(), Stream(let_go.wait), 0.05)
    finally:
        let_go.set()


def test_a_stream_that_ends_is_closed_and_one_that_is_broken_holds_up_nobody():
    def broken():
        raise PortAudio.PortAudioError("gone")

    fine = Stream(lambda: None)
    assert shut(PortAudio(), fine, 5) and fine.closed
    assert shut(PortAudio(), Stream(broken), 5)
