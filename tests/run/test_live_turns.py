"""Whose turn it is, keys, and a mouth that never blocks."""

from __future__ import annotations

import os
import pty
import time
from pathlib import Path

import pytest

from bayhelper.hear.capture.caught import Caught, LineSpan
from bayhelper.hear.capture.recording import whole_recording
from bayhelper.hear.turns import FollowOn, begins_at_our_end, is_not_ours_alone, spoken_over
from bayhelper.run.bay.door import HalfReady, Pressed
from bayhelper.run.bay.inbox import Inbox
from bayhelper.run.bay.keys import Keys
from bayhelper.run.parts import build_library, build_scope, open_ear
from bayhelper.run.settings import Settings
from bayhelper.terms.utterance import Utterance
from bayhelper.understand.offer import plain_words

COMMANDS = Path(__file__).parents[2] / "audio_fixtures" / "commands"


def test_the_window_opens_when_our_reply_ends():
    window = FollowOn(5.0)
    window.open(100.0, 100.0)
    assert not window.holds(99.9)
    assert window.holds(100.2) and window.holds(105.0)
    assert not window.holds(105.1)


@pytest.fixture(scope="module")
def heard():
    settings = Settings()
    with open_ear(settings) as ear:
        offer = build_library().offer(build_scope(settings))
        yield ear.listen(whole_recording(COMMANDS / "ask_next_1.flac"), offer, False)


def test_a_command_over_another_line_of_ours_is_taken(heard):
    assert heard.accepted and heard.addressed
    line = LineSpan(1, 0.0, 9.0, "Bonnet is on. Level it at ten past three.")
    assert spoken_over(heard, (line,), plain_words).accepted


def test_the_same_command_in_our_own_line_is_ours(heard):
    line = LineSpan(1, 0.0, 9.0, "Workshop copy, what comes next?")
    ours = spoken_over(heard, (line,), plain_words)
    assert not ours.accepted and not ours.addressed and ours.why == "our own voice"


@pytest.mark.parametrize(
    ("button", "typed", "counts"),
    [("", b"x", True), ("b", b"xx", False), ("b", b"xb", True), ("enter", b"\r", True)],
)
def test_keys_of_a_terminal(button, typed, counts):
    ours, theirs = pty.openpty()
    with os.fdopen(theirs, "r") as terminal, Keys(terminal, button) as keys:
        os.write(ours, typed)
        assert keys.pressed() == counts and keys.open
    os.close(ours)


def test_a_keyboard_that_ends_is_no_press():
    with Path(os.devnull).open() as nothing, Keys(nothing, "") as keys:
        assert not keys.pressed()
        assert not keys.open


def test_the_inbox_wakes_whoever_waits():
    import select

    with Inbox() as inbox:
        assert select.select([inbox], [], [], 0)[0] == []
        inbox.put(HalfReady("listening"))
        inbox.put(Pressed())
        assert select.select([inbox], [], [], 0)[0] == [inbox]
        assert inbox.take() == [HalfReady("listening"), Pressed()]
        assert select.select([inbox], [], [], 0)[0] == []
        began = time.monotonic()
        assert inbox.take() == [] and time.monotonic() - began < 0.1


def caught(onset_s, ended_s, over=(), over_echo=False):
    return Caught(
        Utterance(None, 0, 1, "microphone"), onset_s, ended_s, ended_s, over, 0.0, over_echo
    )


LINE = LineSpan(1, 10.0, 13.0, "Roof is on.")


@pytest.mark.parametrize(
    ("one", "ours_alone"),
    [
        (caught(10.1, 12.9, (LINE,)), True),
        (caught(10.1, 14.2, (LINE,)), False),
        (caught(10.1, 12.9, (LINE,), over_echo=True), False),
        (caught(10.1, 12.9, (LineSpan(1, 10.0, 13.0, ""),), over_echo=True), True),
    ],
    ids=["echo", "goes on after it", "louder", "a tone of ours"],
)
def test_what_is_said_over_a_sentence_of_ours_is_noticed(one, ours_alone):
    assert is_not_ours_alone(one) != ours_alone


def test_what_begins_as_our_sentence_ends_may_have_lost_its_beginning():
    assert begins_at_our_end(caught(13.3, 15.0), [LINE])
    assert not begins_at_our_end(caught(14.0, 15.0), [LINE])
    assert not begins_at_our_end(caught(13.3, 15.0), [LineSpan(1, 10.0, 13.0, "")])
    assert not begins_at_our_end(caught(12.0, 15.0, (LINE,)), [LINE])
