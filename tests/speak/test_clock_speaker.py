"""What a loudspeaker does, on a device and on a clock that is moved by hand: one contract."""

from __future__ import annotations

import queue
import time
from concurrent.futures import Future
from datetime import UTC, datetime

import numpy as np
import pytest

from bayhelper.run.clock import ManualClock
from bayhelper.speak.clock_speaker import ClockSpeaker, SilentVoice
from bayhelper.speak.durations import spoken_s
from bayhelper.speak.speaker import KEPT_S, Speaker
from bayhelper.speak.speaker_reports import Began, Ended, SpeakerReport, SpeakerState, VoiceFailed
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound
from tests.known import known
from tests.speak.test_speaker import RATE_HZ, PortAudio


class OnDevice:
    """The speaker on a PortAudio that a test turns."""

    def __init__(self):
        self.reports: queue.Queue[SpeakerReport] = queue.Queue()
        self.speaker = Speaker(self.reports.put, time.monotonic, library=PortAudio)

    def next(self, kind=object):
        while True:
            report = self.reports.get(timeout=5)
            if isinstance(report, kind):
                return report


class OnClock:
    """The speaker on a clock."""

    def __init__(self):
        self.clock = ManualClock(datetime(2026, 3, 2, tzinfo=UTC))
        self.speaker = ClockSpeaker(self.clock)
        self._reports = []

    def next(self, kind=object):
        while True:
            while not self._reports:
                self.clock.set_utc(known(self.speaker.next_utc()))
                self._reports += self.speaker.take()
            report = self._reports.pop(0)
            if isinstance(report, kind):
                return report


@pytest.fixture(params=["device", "clock"])
def bay(request):
    if request.param == "clock":
        yield OnClock()
        return
    one = OnDevice()
    with one.speaker:
        yield one


def sound(seconds):
    return Sound(np.full(int(RATE_HZ * seconds), 900, "<i2").tobytes(), RATE_HZ)


def test_a_line_begins_and_ends_with_its_number_and_words(bay):
    bay.speaker.say(7, [sound(0.3)], 0, "words")
    began, ended = bay.next(), bay.next()
    assert isinstance(began, Began) and (began.number, began.text) == (7, "words")
    assert isinstance(ended, Ended) and (ended.number, ended.whole, ended.again) == (7, True, False)
    assert began.at_s < ended.at_s


def test_the_most_urgent_waits_least(bay):
    bay.speaker.say(1, [sound(0.5)], 0)
    assert bay.next(Began).number == 1
    bay.speaker.say(2, [sound(0.1)], 1)
    bay.speaker.say(3, [sound(0.1)], 2)
    assert [bay.next(Began).number, bay.next(Began).number] == [3, 2]


def test_an_urgent_line_cuts_a_reply_off_which_begins_again_once(bay):
    bay.speaker.say(1, [sound(0.8)], 0)
    assert bay.next(Began).number == 1
    bay.speaker.say(2, [sound(0.1)], 3)
    cut = bay.next(Ended)
    assert (cut.number, cut.whole, cut.again) == (1, False, True)
    assert [bay.next(Began).number, bay.next(Began).number] == [2, 1]
    bay.speaker.say(3, [sound(0.1)], 3)
    ended = [bay.next(Ended) for _ in range(2)]
    assert {(one.number, one.again) for one in ended} == {(1, False), (3, False)}, (
        "not a second time"
    )


def test_hush_drops_what_sounds_and_what_waits(bay):
    bay.speaker.say(1, [sound(2.0)], 0)
    assert bay.next(Began).number == 1
    bay.speaker.say(2, [sound(0.1)], 1)
    bay.speaker.hush()
    ended = sorted((bay.next(Ended) for _ in range(2)), key=lambda one: one.number)
    assert [(one.number, one.whole, one.again) for one in ended] == [
        (1, False, False),
        (2, False, False),
    ]


def test_a_sentence_that_cannot_be_rendered_is_told_and_the_rest_is_heard(bay):
    failed: Future[Sound] = Future()
    failed.set_exception(SpeechError("The voice ended."))
    bay.speaker.say(1, [sound(0.1), failed], 2, "words")
    reports = [bay.next(), bay.next(), bay.next()]
    assert any(isinstance(r, VoiceFailed) and "ended" in r.text for r in reports)
    assert {type(r) for r in reports} == {Began, VoiceFailed, Ended}


def test_without_a_device_lines_wait_a_while_and_are_dropped():
    bay = OnClock()
    bay.speaker.say(1, [sound(9)], 0)
    assert bay.next(Began).number == 1
    bay.speaker.lose("gone")
    assert bay.next(Ended).again and bay.next() == SpeakerState(False, "gone")
    began_s = bay.clock.steady_s()
    assert not bay.next(Ended).whole
    assert bay.clock.steady_s() - began_s == pytest.approx(KEPT_S)
    assert bay.speaker.next_utc() is None
    bay.speaker.restore("back")
    assert bay.next() == SpeakerState(True, "back")


def test_a_silent_voice_takes_as_long_as_the_sentence_does():
    voice = SilentVoice()
    assert voice.render("Roof is on.").length_s == pytest.approx(spoken_s("Roof is on."), abs=0.01)
    voice.gone = "It ended."
    with pytest.raises(SpeechError, match="It ended"):
        voice.render("Roof is on.")
