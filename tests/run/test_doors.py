"""Doors of the loop, and how it waits for them."""

from __future__ import annotations

import io
import os
import pty
import threading
import time
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from bayhelper.hear.capture.caught import Caught
from bayhelper.hear.typed import typed_utterances
from bayhelper.run.bay import live_session
from bayhelper.run.bay.door import Pressed
from bayhelper.run.bay.inbox import Inbox
from bayhelper.run.bay.keys import Keys
from bayhelper.run.bay.live_session import open_live, process_halves, work_live
from bayhelper.run.bay.loop import Loop
from bayhelper.run.bay.playback import read_story
from bayhelper.run.bay.script import Script
from bayhelper.run.bay.split_ear import ProcessHalf
from bayhelper.run.bay.utterance_thread import UtteranceThread
from bayhelper.run.bay.waiting import LONGEST_SLEEP_S, ManualWaits, SystemWaits
from bayhelper.run.clock import ManualClock, SystemClock, steady_s
from bayhelper.run.settings import Settings
from bayhelper.speak.speaker import Speaker
from bayhelper.terms.errors import HearingError, RunError
from tests.known import known_as
from tests.speak.test_speaker import PortAudio

BEGAN_UTC = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def after(seconds):
    return BEGAN_UTC + timedelta(seconds=seconds)


def test_utterances_come_one_a_turn_and_then_the_door_is_over():
    with UtteranceThread(typed_utterances(["one", "", "two"]), lambda: 7.0) as door:
        first, second = door.take(), door.take()
        caught = [known_as(Caught, one) for one in (*first, *second)]
        assert [one.utterance.typed for one in caught] == ["one", "two"]
        assert caught[0].onset_s == caught[0].ended_s == 7.0
        assert not door.over and door.take() == () and door.over


def test_what_goes_wrong_while_waiting_for_speech_is_raised_in_the_loop():
    def broken():
        yield from typed_utterances(["one"])
        raise HearingError("The stream broke.")

    with UtteranceThread(broken(), lambda: 0.0) as door:
        assert len(door.take()) == 1
        with pytest.raises(HearingError, match="The stream broke"):
            door.take()


def test_a_door_that_was_left_lets_its_thread_end():
    go_on = threading.Event()

    def slow():
        go_on.wait(5)
        yield from typed_utterances(["one"])

    before = threading.active_count()
    with UtteranceThread(slow(), lambda: 0.0):
        assert threading.active_count() == before + 1
    go_on.set()
    end_s = time.monotonic() + 5
    while threading.active_count() > before and time.monotonic() < end_s:
        time.sleep(0.01)
    assert threading.active_count() == before


def test_an_inbox_that_was_closed_takes_late_reports_and_wakes_nobody():
    with Inbox() as inbox:
        pass
    inbox.put(Pressed())


def test_an_inbox_that_is_full_of_wakings_loses_nothing():
    with Inbox() as inbox:
        for _ in range(70_000):
            inbox.put(Pressed())
        assert len(inbox.take()) == 70_000


def test_a_key_is_a_press_and_a_terminal_that_ends_is_over():
    ours, theirs = pty.openpty()
    with os.fdopen(theirs, "r") as terminal, Keys(terminal, "b") as keys:
        os.write(ours, b"x")
        assert keys.take() == ()
        os.write(ours, b"b")
        assert keys.take() == (Pressed(),) and not keys.over
        os.close(ours)
        assert keys.take() == () and keys.over


def test_the_system_clock_waits_for_files_and_instants():
    clock = SystemClock()
    waits = SystemWaits(clock)
    with Inbox() as inbox:
        assert waits.wait([inbox], clock.now_utc() - timedelta(seconds=1)) == []
        began_s = steady_s()
        assert waits.wait([inbox], clock.now_utc() + timedelta(seconds=0.05)) == []
        assert 0.04 < steady_s() - began_s < LONGEST_SLEEP_S
        inbox.put(Pressed())
        assert waits.wait([inbox], None) == [inbox]
        nowhere = Script(iter([(BEGAN_UTC, Pressed)]))
        assert waits.wait([nowhere, inbox], None) == [inbox]


def test_a_manual_clock_goes_to_what_comes_first():
    clock = ManualClock(BEGAN_UTC)
    slept: list[float] = []
    waits = ManualWaits(clock, pause=slept.append)
    door = Script(iter([(after(5), Pressed), (after(2), lambda: None)]))
    assert waits.wait([door], after(3)) == [] and clock.now_utc() == after(3)
    assert waits.wait([door], after(9)) == [door] and clock.now_utc() == after(5)
    assert door.take() == (Pressed(),)
    assert waits.wait([door], None) == [door] and clock.now_utc() == after(5), "never back"
    assert door.take() == () and door.over and door.take() == ()
    assert waits.wait([door], None) == () and clock.now_utc() == after(5)
    assert slept == [3, 2, 0]


def test_a_manual_clock_looks_round_now_and_then():
    clock = ManualClock(BEGAN_UTC)
    assert ManualWaits(clock, look_s=1.0).wait([], after(60)) == []
    assert clock.now_utc() == after(1)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("= 1", "cannot be read"),
        ("", "no .*entries"),
        ("[[line]]\nafter_s = 1", "line 1"),
        ('[[line]]\nfile = "a"\nafter_s = -1', "line 1"),
    ],
)
def test_a_playlist_that_is_wrong_says_where(tmp_path, text, said):
    (tmp_path / "story.toml").write_text(text)
    with pytest.raises(RunError, match=said):
        read_story(tmp_path / "story.toml")


@pytest.fixture
def devices(monkeypatch):
    """A loudspeaker, and no microphone."""
    audio = PortAudio()
    monkeypatch.setattr(live_session, "Speaker", partial(Speaker, library=lambda: audio))
    return audio


def test_the_live_session_opens_works_and_closes_without_a_microphone(devices, tmp_path, wall):
    terminal = io.StringIO()
    with Path(os.devnull).open() as keyboard:
        settings = Settings(plan="coat_only", microphones=("no such microphone",))
        with open_live(tmp_path, settings, keyboard, terminal) as live:
            end_s = steady_s() + 30
            while not (live.ear.ready and "STOPPED" in terminal.getvalue()):
                assert steady_s() < end_s, terminal.getvalue()
                live.loop.turn()
            pids = [known_as(ProcessHalf, half).pid for half in live.ear.halves.values()]
    assert pids and not any(Path(f"/proc/{pid}").exists() for pid in pids)


def test_work_goes_on_until_it_is_interrupted(devices, tmp_path, monkeypatch):
    def interrupted(loop):
        raise KeyboardInterrupt

    monkeypatch.setattr(Loop, "run", interrupted)
    monkeypatch.setattr(live_session, "process_halves", lambda settings: {})
    with pytest.raises(KeyboardInterrupt):
        work_live(tmp_path, Settings(), io.StringIO(), io.StringIO())


def test_a_half_in_a_process_reports_and_ends():
    half = process_halves(Settings())["decoding"]()
    assert half.next_utc() is None and half.fileno() >= 0
    (ready,) = half.receive()
    assert type(ready).__name__ == "Ready" and half.send("nothing that it knows")
    half.close()
    with pytest.raises(OSError, match="closed"):
        half.receive()
