"""The live loop hears recordings with the real ear: over our own voice, and broken off."""

from __future__ import annotations

import pytest

from bayhelper.hear.capture.recording import read_sound
from bayhelper.run.bay.split_ear import RESTART_S
from bayhelper.run.parts import open_ear
from bayhelper.run.settings import Settings
from bayhelper.terms.events import HumidityRead
from bayhelper.terms.subjects.wiping import LevelledReply
from tests.run.bench_bay import COMMANDS, bench_bay

SETTINGS = Settings(plan="coat_only", body="saloon")
SENTENCE = "Bonnet is on. Level it in five minutes, and look at the edges."
PROMPT = "Workshop copy, what comes next?"


@pytest.fixture(scope="module")
def judge():
    with open_ear(SETTINGS) as ear:
        yield ear


@pytest.fixture
def bay(judge, tmp_path):
    """A job is open, and nobody speaks."""
    with bench_bay(tmp_path, SETTINGS, judge, hears=True) as bench:
        bench.run(1.0)
        spoken(bench, "open_job_1")
        bench.run(SETTINGS.follow_on_s + 1.0)
        yield bench


def other_talk():
    folder = COMMANDS.parent / "other_talk"
    return read_sound(sorted(folder.glob("*.flac"))[0])


def spoken(bay, name):
    """A recording into the microphone, until it is read and answered."""
    bay.play(name)
    before = len(bay.rows("heard"))
    bay.until(lambda: len(bay.rows("heard")) > before, 15)
    bay.until(bay.silent)
    return bay.rows("heard")[-1]


def prompt(bay, text):
    """A sentence of ours, that has just begun to sound."""
    bay.live.mouth.say(bay.clock.now_utc(), LevelledReply(panel="roof", half=""), text)
    bay.until(lambda: text in bay.spoken())


def test_a_command_is_heard_and_its_sound_is_kept(bay):
    assert bay.commands() == ["open_job"]
    (clip,) = (bay.folder / "clips").rglob("*.flac")
    assert clip.stat().st_size > 10_000
    assert bay.spoken() == ["Coat only, intake."]


def test_a_command_over_a_prompt_is_taken_or_asked_for_again(bay):
    prompt(bay, SENTENCE)
    row = spoken(bay, "ask_where_1")
    taken = "ask_where" in bay.commands()
    assert taken or bay.sentences()[-1] == "misheard", row


def test_the_words_of_a_prompt_never_command(bay):
    before = len(bay.decisions())
    bay.live.mouth.say(bay.clock.now_utc(), LevelledReply(panel="roof", half=""), PROMPT)
    bay.play("ask_next_1", in_s=0.0)
    bay.run(8)
    assert [why for _, _, why in bay.heard()[1:]] == ["our own voice"]
    assert all(decision.command == "" for decision in bay.decisions()[before:])


def test_talk_beside_us_commands_nothing(bay):
    before = len(bay.decisions())
    bay.air.play(other_talk(), bay.now_s + 0.2)
    bay.run(12)
    assert len(bay.rows("heard")) > 1 and len(bay.decisions()) == before


def test_talk_over_a_prompt_is_answered_by_a_tone_at_most(bay):
    before = len(bay.decisions())
    prompt(bay, SENTENCE)
    bay.air.play(other_talk(), bay.now_s + 0.5)
    bay.run(12)
    assert set(bay.tones()) == {"not_understood"}
    assert all(decision.command == "" for decision in bay.decisions()[before:])


def test_a_decoder_that_dies_in_the_middle_reads_the_recording_after_its_restart(bay):
    bay.play("set_humidity_1")
    bay.until(lambda: not bay.live.conversation.idle, 15)
    bay.made["decoding"][-1].die()
    took_s = bay.until(lambda: "set_humidity" in bay.commands())
    assert took_s >= RESTART_S
    assert len(bay.recorded(HumidityRead)) == 1
    said_utc = bay.decisions()[-1].at_utc
    assert (bay.clock.now_utc() - said_utc).total_seconds() >= RESTART_S, "as it was said then"


def test_a_microphone_that_is_lost_in_the_middle_is_told_and_heard_with_again(bay):
    bay.play("set_humidity_1")
    bay.run(0.8)
    bay.air.alive = False
    bay.run(4)
    assert bay.parts() == [("microphone ", "PartLost")]
    assert "Microphone lost. I cannot hear you." in bay.spoken()
    bay.air.alive = True
    bay.run(6)
    assert spoken(bay, "set_humidity_1")["accepted"]
