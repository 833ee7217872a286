"""The live loop and its faults, on a clock of its own, through the real bay and journal."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bayhelper.hear.capture.caught import LineSpan, Pause
from bayhelper.hear.ear_process import Beat, Broken, End
from bayhelper.run.bay.conversation import ANSWER_EVERY_S, MOST_WAITING, STALLED_S
from bayhelper.run.bay.door import HalfEnded, Pressed
from bayhelper.run.bay.split_ear import NO_BEAT_S, RESTART_S
from bayhelper.run.parts import TypedEar
from bayhelper.run.settings import Settings
from bayhelper.terms import events as ev
from tests.run.bench_bay import TO_COATING, Quiet, bench_bay

BLIND, SIGHTED = Beat(-20.0, 0, 0, True), Beat(-20.0, 0, 0, False)


@pytest.fixture
def bay(tmp_path):
    with bench_bay(tmp_path) as bench:
        yield bench


@pytest.fixture
def coating(bay):
    """The roof is on, and somebody waits for it to set."""
    bay.typed(*TO_COATING, "laying down the roof")
    bay.run(30)
    bay.typed("roof is on all round")
    return bay


def test_what_is_said_is_decided_recorded_and_answered(bay):
    bay.typed("open a new job", "start the wash")
    assert bay.commands() == ["open_job", "start_stage"]
    assert bay.sentences()[:2] == ["opened", "stage_started"]
    assert bay.spoken()[0] == "Coat only, intake."
    assert bay.parts() == []


def test_deadlines_fall_due_at_their_own_instants(coating):
    due_utc = coating.live.bay.next_due_utc()
    coating.run(120)
    (first, *_) = coating.recorded(ev.AlertRaised)
    assert first.due_at_utc == first.at_utc == due_utc


def test_what_is_heard_goes_to_the_time_at_which_it_was_said(bay):
    bay.typed("open a new job")
    bay.run(5)
    bay.takes_s = 2.0
    bay.made["decoding"][-1].die()
    bay.run(RESTART_S + 2)
    said_utc = bay.clock.now_utc()
    bay.typed("air temperature 21 degrees")
    (read,) = bay.recorded(ev.AirTempRead)
    assert abs((read.at_utc - said_utc).total_seconds()) < 0.01


def test_a_scope_is_prepared_while_nobody_speaks(bay):
    bay.run(1)
    decoding = bay.made["decoding"][-1]
    assert decoding.prepared == [bay.live.bay.scope()]
    bay.typed("open a new job")
    assert decoding.prepared[-1] == bay.live.bay.scope() and len(decoding.prepared) == 2


# Faults of the ear


def test_a_decoder_that_dies_while_it_reads_reads_it_again_after_the_restart(bay):
    bay.typed("open a new job")
    bay.put(bay.line("start the wash"))
    bay.live.loop.turn()
    assert not bay.live.conversation.idle
    bay.made["decoding"][-1].die()
    took_s = bay.until(lambda: bay.live.conversation.idle)
    assert RESTART_S <= took_s < RESTART_S + 2
    assert bay.commands() == ["open_job", "start_stage"]
    assert bay.parts() == [("ear", "PartLost")]
    bay.until(bay.silent)
    assert "My ear stopped. I start it again." in bay.spoken()


def test_a_decoder_that_says_why_it_ends_is_told_once_while_it_fails(bay):
    bay.run(1)
    decoding = bay.live.ear._make["decoding"]

    def failing():
        half = decoding()
        half._news = [Broken("No model there.")]
        return half

    bay.live.ear._make["decoding"] = failing
    bay.made["decoding"][-1].die()
    bay.until(lambda: len(bay.made["decoding"]) == 4)
    assert bay.parts() == [("ear", "PartLost")]
    bay.live.ear._make["decoding"] = decoding
    bay.run(3)
    bay.made["decoding"][-1].die()
    bay.run(1)
    assert bay.parts() == [("ear", "PartLost")] * 2, "it was well in between"


def test_a_pause_that_was_read_when_the_decoder_died_is_not_read_again(bay):
    bay.run(1)
    bay.put(Pause(1, bay.line("open a new job")))
    bay.live.loop.turn()
    assert not bay.live.conversation.idle
    bay.made["decoding"][-1].die()
    bay.run(RESTART_S + 3)
    assert bay.heard() == [] and bay.job is None


def test_a_decoder_that_hangs_is_ended_and_the_words_are_asked_for_again(bay):
    bay.typed("open a new job")
    bay.takes_s = float("inf")
    bay.made["decoding"][-1].die()
    bay.run(RESTART_S + 1)
    bay.put(bay.line("start the wash"))
    bay.live.loop.turn()
    bay.takes_s = 0.3
    took_s = bay.until(lambda: len(bay.made["decoding"]) == 3)
    assert took_s == pytest.approx(STALLED_S + RESTART_S, abs=2)
    assert f"A reading took over {STALLED_S:g} s." in bay.terminal.getvalue()
    assert "Not read: 1 s. Say it again." in bay.terminal.getvalue()
    bay.run(2)
    assert bay.commands() == ["open_job"]
    bay.typed("start the wash")
    assert bay.commands() == ["open_job", "start_stage"]


def test_a_listening_half_without_a_sign_of_life_is_ended_and_begun_anew(bay):
    bay.run(3)
    bay.made["listening"][-1].receive = list
    bay.made["listening"][-1].next_utc = lambda: None
    took_s = bay.until(lambda: len(bay.made["listening"]) == 2)
    assert NO_BEAT_S < took_s < NO_BEAT_S + 3
    assert bay.parts() == [("ear", "PartLost")]
    bay.run(NO_BEAT_S + 5)
    assert len(bay.made["listening"]) == 2, "the new one beats"


def test_news_of_a_half_that_is_gone_already_is_nothing_new(bay):
    bay.run(1)
    bay.made["decoding"][-1].die()
    bay.run(0.1)
    bay.put(HalfEnded("decoding", "The same once more."))
    bay.run(0.1)
    assert bay.parts() == [("ear", "PartLost")]


def test_alerts_come_while_the_ear_is_gone(coating):
    for name in coating.made:
        coating.made[name][-1].die()
        coating.live.ear._make[name] = lambda: Quiet(coating.clock)
    coating.run(400)
    assert "wipe_now" in coating.sentences()


# Voice, loudspeaker, microphone, noise


def test_a_voice_that_fails_is_shown_once_and_the_tones_go_on(coating):
    coating.voice.gone = "The voice ended."
    before = len(coating.spoken())
    coating.typed("how long has the roof had", "time left")
    assert coating.parts() == [("voice", "PartLost")]
    assert coating.spoken()[before:] == []
    coating.run(400)
    began = len(coating.speaker.heard)
    assert began > before, "tones are heard"
    assert "wipe_now" in coating.sentences(), "and what would be said is shown and recorded"


def test_a_loudspeaker_is_lost_and_back(coating):
    coating.speaker.lose("It takes no sound any more.")
    coating.typed("time left")
    assert coating.parts() == [("loudspeaker", "PartLost")]
    before = len(coating.spoken())
    assert "It takes no sound any more." in coating.terminal.getvalue()
    coating.speaker.restore("It is there again.")
    coating.typed("time left")
    assert coating.parts() == [("loudspeaker", "PartLost"), ("loudspeaker", "PartBack")]
    assert len(coating.spoken()) == before + 1


def test_an_alert_that_cannot_be_heard_is_dropped_and_the_next_one_is(coating):
    coating.speaker.lose("gone")
    coating.until(lambda: coating.said("wipe_now"), 600)
    raised = len([t for t in coating.sentences() if t == "wipe_now"])
    coating.run(10)
    coating.speaker.restore("back")
    coating.run(60)
    assert "Roof. Wipe it off now." in coating.spoken()
    assert len([t for t in coating.sentences() if t == "wipe_now"]) > raised


def test_a_microphone_is_lost_and_back(tmp_path):
    with bench_bay(tmp_path, hears=True) as bay:
        bay.run(2)
        for alive in (False, True):
            bay.air.alive = alive
            bay.run(3.5)
    assert bay.parts() == [("microphone ", "PartLost"), ("microphone ", "PartBack")]
    assert bay.spoken() == ["Microphone lost. I cannot hear you.", "I can hear you again."]


def test_noise_that_hides_every_end_is_told_and_when_it_is_over(bay):
    bay.run(1)
    bay.made["listening"][-1].receive = list
    bay.made["listening"][-1].next_utc = lambda: None
    for beat in (BLIND, BLIND, SIGHTED, SIGHTED):
        bay.put(beat)
        bay.run(2)
    assert bay.parts() == [("ear", "PartLost"), ("ear", "PartBack")]
    assert bay.spoken() == ["Too loud. I cannot hear you.", "I can hear you again."]


def test_noise_above_the_loudness_that_was_set_advises_a_headset_once(bay):
    bay.made["listening"][-1].mute = True
    for floor_db in (-70.0, -70.0, -20.0, -20.0):
        bay.put(Beat(floor_db, 0, 0, False))
        bay.run(0.01)
    assert bay.terminal.getvalue().count("A headset would be heard.") == 1
    assert bay.speaker.gain == 1.0


# Keys


def test_the_talk_button_stops_our_own_words_and_opens_the_window(tmp_path):
    settings = Settings(plan="coat_only", button_does="talk")
    with bench_bay(tmp_path, settings) as bay:
        bay.typed("open a new job")
        bay.put(bay.line("where are we"))
        bay.until(lambda: len(bay.spoken()) == 2)
        bay.put(Pressed())
        bay.run(0.01)
        assert bay.silent(), "our own words were cut off"
        assert "Button: listening, no address needed." in bay.terminal.getvalue()
        window = bay.live.conversation._window
        assert window.holds(bay.now_s) and not window.holds(bay.now_s + settings.follow_on_s + 1)


class Asked(TypedEar):
    """Notes for which utterances no address was needed."""

    def __init__(self):
        self.follow_on = []

    def listen(self, utterance, offer, follow_on):
        self.follow_on.append(follow_on)
        return super().listen(utterance, offer, follow_on)


def test_no_address_is_needed_in_the_window_after_a_reply_or_the_button(tmp_path):
    settings, asked = Settings(plan="coat_only", button_does="talk"), Asked()
    with bench_bay(tmp_path, settings, asked) as bay:
        bay.typed("open a new job", "start the wash")
        assert asked.follow_on == [False, True]
        bay.run(settings.follow_on_s + 1)
        bay.typed("air temperature 20 degrees")
        bay.run(settings.follow_on_s + 1)
        bay.put(Pressed())
        bay.run(0.5)
        bay.typed("air temperature 21 degrees")
        assert asked.follow_on == [False, True, False, True]
        bay.run(settings.follow_on_s + 1)
        bay.typed("take a note")
        bay.run(settings.follow_on_s + 1)
        bay.typed("whatever is said")
        assert asked.follow_on[-2:] == [False, True], "a note is for us"


def test_an_alert_opens_no_window(tmp_path):
    asked = Asked()
    with bench_bay(tmp_path, judge=asked) as bay:
        bay.typed(*TO_COATING, "laying down the roof", "roof is on all round")
        bay.until(lambda: bay.said("wipe_now"), 600)
        bay.until(bay.silent)
        bay.typed("how long has the roof had")
        assert asked.follow_on[-1] is False


def test_the_answered_button_answers_the_alert(tmp_path):
    settings = Settings(plan="coat_only", body="saloon", button_does="answered")
    with bench_bay(tmp_path, settings) as bay:
        bay.typed(*TO_COATING, "laying down the roof", "roof is on all round")
        bay.until(lambda: bay.said("wipe_now"), 600)
        bay.put(Pressed())
        bay.run(0.5)
        (answered,) = bay.recorded(ev.AlertAnswered)
        assert answered.at_utc <= bay.clock.now_utc()
        assert bay.decisions()[-1].command == "answered"


def test_a_button_that_is_off_does_nothing(tmp_path):
    with bench_bay(tmp_path, Settings(plan="coat_only", button_does="off")) as bay:
        bay.typed("open a new job")
        before = bay.rows()
        bay.put(Pressed())
        bay.run(0.5)
        assert bay.rows() == before


# Turns


def test_more_than_can_be_read_lets_the_oldest_go(bay):
    bay.typed("open a new job")
    bay.takes_s = 5.0
    bay.made["decoding"][-1].die()
    bay.run(RESTART_S + 1)
    for degrees in range(11, 11 + MOST_WAITING + 2):
        bay.put(bay.line(f"air temperature {degrees} degrees"))
    bay.live.loop.turn()
    bay.until(lambda: bay.live.conversation.idle, 200)
    temperatures = [read.temp_c for read in bay.recorded(ev.AirTempRead)]
    assert bay.terminal.getvalue().count("the oldest was let go") == 1
    assert temperatures == [11, *range(13, 11 + MOST_WAITING + 2)]


def test_a_whole_command_may_end_at_its_pause(bay):
    bay.typed("open a new job")
    ended = bay.made["listening"][-1].sent
    bay.put(Pause(7, bay.line("start the wash")))
    bay.run(1)
    assert ended[-1] == End(7) and bay.job.stage == "intake"
    bay.put(Pause(8, bay.line("start the")))
    bay.run(1)
    assert [m for m in ended if isinstance(m, End)] == [End(7)]


def test_a_pause_is_not_asked_about_in_a_note_nor_when_more_was_said(bay):
    bay.typed("open a new job", "take a note")
    ended = bay.made["listening"][-1].sent
    bay.put(Pause(1, bay.line("end of note")))
    bay.run(1)
    bay.typed("end of note")
    bay.put(bay.line("air temperature 20 degrees"))
    bay.live.loop.turn()
    bay.put(Pause(2, bay.line("start the wash")))
    bay.put(bay.line("start the wash"))
    bay.until(lambda: bay.job.stage == "wash")
    assert [m for m in ended if isinstance(m, End)] == []


def test_an_answer_to_an_older_question_counts_for_nothing(bay):
    from bayhelper.hear.ear_process import HearingReply

    bay.typed("open a new job")
    bay.put(bay.line("start the wash"))
    bay.live.loop.turn()
    stale = bay.made["decoding"][-1]._asked.number - 1
    bay.put(HearingReply(stale, None, False))  # type: ignore[arg-type]
    bay.until(lambda: bay.live.conversation.idle)
    assert bay.commands() == ["open_job", "start_stage"]


def ours(bay, text):
    """A span of ours that began two seconds ago and still sounds."""
    return (LineSpan(99, bay.now_s - 2.0, bay.now_s + 2.0, text),)


def test_a_command_over_our_own_line_is_taken(bay):
    bay.typed("open a new job")
    over = ours(bay, "Bonnet is on. Level it at ten past three.")
    bay.put(bay.line("start the wash", bay.now_s - 1.0, over=over))
    bay.until(lambda: bay.job.stage == "wash")


def test_a_command_in_our_own_words_never_commands(bay):
    bay.typed("open a new job")
    over = ours(bay, "Say start the wash when you are ready.")
    bay.put(bay.line("start the wash", bay.now_s - 1.0, over=over))
    bay.run(2)
    assert bay.heard()[-1] == ("start_stage", False, "our own voice")
    assert bay.job.stage == "intake" and bay.tones() == []


def test_what_goes_on_beyond_our_own_words_is_asked_about_but_not_each_time(bay):
    bay.typed("open a new job")
    for wait_s, tones in ((1.0, 1), (ANSWER_EVERY_S, 1), (1.0, 2)):
        over = ours(bay, "Say start the wash when you are ready.")
        caught = bay.line("start the wash", bay.now_s - 1.0, over=over, over_echo=True)
        bay.put(caught)
        bay.run(wait_s)
        assert bay.tones().count("not_understood") == tones
    assert bay.job.stage == "intake"


def test_words_that_were_addressed_but_not_understood_are_asked_for_in_words(bay):
    bay.typed("open a new job")
    over = ours(bay, "Bonnet is on.")
    bay.put(bay.line("mumble mumble mumble", bay.now_s - 1.0, over=over, over_echo=True))
    bay.run(2)
    assert bay.sentences()[-1] == "misheard" and bay.tones() == []


def test_the_note_goes_on_while_an_alert_comes_due(coating):
    coating.typed("take a note about the bonnet")
    coating.put(coating.line("a deep scratch stays as it is"))
    coating.until(lambda: coating.said("closing"), 600)
    assert coating.job.dictating
    coating.until(lambda: coating.spoken()[-1].startswith("Roof closing"))
    coating.run(0.01)
    line = next(iter(reversed(coating.live.conversation._spans.values())))
    inside = coating.line("roof closing", line.start_s, over=(line,))
    coating.until(coating.silent)
    coating.put(inside)
    coating.typed("and the edge is thin", "end of note")
    (note,) = coating.job.notes
    assert note.text == "a deep scratch stays as it is and the edge is thin"
    assert coating.heard()[-3][2] == "our own voice"


# The clock


@pytest.mark.parametrize("hours", [1, -1])
def test_the_clock_that_is_set_changes_no_age(coating, hours):
    due_utc = coating.live.bay.next_due_utc()
    coating.clock.set_wall(3600.0 * hours)
    coating.run(2)
    way = "forward" if hours > 0 else "back"
    assert f"The computer's clock was set {way} by 3600 s." in coating.terminal.getvalue()
    assert [event.step_s for event in coating.recorded(ev.ClockSet)] == [3600.0 * hours]
    assert coating.live.bay.next_due_utc() == due_utc
    coating.run(150)
    (first, *_) = coating.recorded(ev.AlertRaised)
    assert first.at_utc == due_utc


def test_between_two_jobs_the_new_time_is_taken_over(bay):
    bay.run(1)
    before_utc = bay.clock.now_utc()
    bay.clock.set_wall(-7200.0)
    bay.run(2)
    assert "set back by 7200 s" in bay.terminal.getvalue()
    moved = before_utc - timedelta(hours=2)
    assert moved < bay.clock.now_utc() < moved + timedelta(seconds=5)
    bay.typed("open a new job")
    assert bay.job.opened_at_utc < before_utc
    assert all(row["t_s"] < 10 for row in bay.rows())


def test_the_loop_is_left_when_it_is_told_to(bay):
    bay.put(bay.line("open a new job"))
    turns = iter(range(50))
    look_after = bay.live.ear.look_after

    def some_turns():
        look_after()
        if next(turns) == 40:
            bay.live.loop.end()

    bay.live.ear.look_after = some_turns
    bay.live.loop.run()
    assert next(turns) == 41 and bay.job is not None
