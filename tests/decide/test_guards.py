"""Guards speak and can be insisted on; whatever else does not fit is refused with a reason."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

import pytest

from bayhelper.decide.acts.notes import keep_note_clip
from bayhelper.decide.decide import decide, not_understood
from bayhelper.decide.replay import apply
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command, NearMiss
from bayhelper.terms.effects import Tone
from bayhelper.terms.errors import DecisionError
from bayhelper.terms.saying import Saying
from bayhelper.terms.subjects.job import CloseOpenQuestion
from bayhelper.terms.subjects.laying import LeavingBareGuard
from bayhelper.terms.subjects.notes import NoteReadsReply
from tests.decide.stories import TO_COATING, TO_CORRECTION
from tests.decide.worker import DESK, START_UTC, Worker, one_said, says
from tests.known import known_as

E = TypeVar("E", bound=ev.Event)


def at_work(*lines: str, plan: str = "coat_only") -> Worker:
    worker = Worker(plan)
    worker.do(*lines)
    return worker


def utterance(worker: Worker, events: tuple[ev.Event, ...]) -> ev.Decision:
    return ev.Decision(
        job="j1",
        number=worker.it.number + 1,
        at_utc=START_UTC,
        cause="utterance",
        events=events,
    )


def last(worker: Worker, kind: type[E]) -> E:
    events = [e for d in worker.it.decisions for e in d.events if isinstance(e, kind)]
    return events[-1]


def test_no_fresh_polish_on_a_dirty_pad_unless_insisted():
    worker = at_work(
        *TO_CORRECTION, "start_panel panel=roof", "polish_on", "section_done", plan="one_step"
    )
    assert worker.topic("polish_on") == "dirty_pad"
    before = worker.it
    assert not before.pad.loaded
    worker.do("insist")
    assert worker.it.pad.loaded
    assert last(worker, ev.PolishPutOn).insisted
    worker.do("section_done", "pad_cleaned", "polish_on")
    assert not last(worker, ev.PolishPutOn).insisted


def test_a_new_pad_is_a_clean_pad():
    worker = at_work(*TO_CORRECTION, "section_done", "pad_changed", "polish_on", plan="one_step")
    assert (worker.it.pad.changes, worker.it.pad.cleanings) == (1, 0)


@pytest.mark.parametrize("flag", ["matte", "wrapped", "thin"])
def test_a_panel_that_must_not_be_machined(flag):
    worker = at_work(*TO_CORRECTION, f"flag_panel panel=roof flag={flag}", plan="one_step")
    assert worker.topic("start_panel panel=roof") == "gentle_panel"
    assert worker.it.machining == ""
    worker.do("insist")
    assert worker.it.machining == "roof"
    assert last(worker, ev.PanelStarted).insisted


@pytest.mark.parametrize("flag", ["repainted", "normal"])
def test_a_panel_that_may_be_machined(flag):
    worker = at_work(*TO_CORRECTION, f"flag_panel panel=roof flag={flag}", plan="one_step")
    worker.do("start_panel panel=roof")


PREPPED = (*TO_COATING, "prepped panel=roof", "prepped panel=bonnet")


def test_bare_seams_are_named_when_the_next_panel_is_started():
    worker = at_work(*PREPPED, "laying panel=roof", "covered panel=roof")
    said = one_said(worker.say("laying panel=bonnet"), LeavingBareGuard)
    assert (said.topic, said.neighbours) == ("leaving_bare", ("bonnet",))
    worker.do("insist")
    assert worker.states()["bonnet"] == "laying"


def test_bare_seams_are_named_when_the_panel_is_buffed():
    worker = at_work(*PREPPED, "covered panel=roof", "levelled panel=roof")
    assert worker.topic("buffed panel=roof") == "leaving_bare"
    worker.do("lapped panel=roof neighbour=bonnet", "buffed panel=roof")


def test_one_half_may_be_buffed_while_the_other_is_still_wet():
    worker = at_work(*PREPPED, "covered panel=roof half=left", "covered panel=roof half=right")
    worker.do("buffed panel=roof half=left")
    assert worker.topic("buffed panel=roof half=right") == "leaving_bare"


def test_lapped_all_round_there_is_nothing_to_name():
    worker = at_work(*PREPPED, "covered panel=roof all_round=true", "laying panel=bonnet")
    assert worker.states() == {"roof": "covered", "bonnet": "laying"}


def test_closing_with_panels_open_names_them_and_wants_a_yes():
    worker = at_work(*PREPPED, "laying panel=roof")
    said = one_said(worker.say("close_job"), CloseOpenQuestion)
    assert (said.topic, said.parts) == ("close_open", ("roof",))
    worker.do("no")
    assert worker.it.closed_at_utc is None
    worker.say("close_job")
    worker.do("yes")
    assert last(worker, ev.JobClosed).left_open == ("roof",)


def test_closing_with_nothing_open_wants_a_yes_too():
    worker = at_work()
    assert worker.topic("close_job") == "close_sure"
    assert worker.it.closed_at_utc is None
    worker.do("no")
    assert worker.it.closed_at_utc is None and worker.it.question is None
    worker.do("asks close_job", "ask_where", "insist")
    assert worker.it.closed_at_utc is not None


def test_a_question_about_closing_lapses_with_the_next_act():
    worker = at_work("asks close_job", "set_air_temp temp_c=21")
    assert worker.topic("yes") == "not_now"
    assert worker.it.closed_at_utc is None


def test_the_next_layer_over_wet_panels_wants_a_yes():
    worker = at_work(
        *TO_CORRECTION,
        "start_stage stage=coating",
        "prepped panel=roof",
        "covered panel=roof all_round=true",
        plan="correction_coat",
    )
    assert worker.topic("start_layer") == "layer_open"
    worker.do("yes")
    assert worker.it.layer == 2


REFUSED = (
    ("prepped panel=roof", (*PREPPED, "laying panel=roof"), "panel_not_now"),
    ("laying panel=roof", (*PREPPED, "laying panel=roof"), "panel_not_now"),
    ("laying panel=roof", (*PREPPED, "covered panel=roof all_round=true"), "panel_not_now"),
    ("laying panel=boot_lid", PREPPED, "no_such_panel"),
    ("laying panel=bonnet half=left", PREPPED, "no_such_panel"),
    ("levelled panel=roof", (*PREPPED, "laying panel=bonnet"), "not_covered"),
    ("more_time panel=roof", (*PREPPED, "laying panel=bonnet"), "not_covered"),
    ("buffed panel=bonnet", (*PREPPED, "covered panel=roof"), "not_covered"),
    ("trial panel=bonnet result=wet", (*PREPPED, "covered panel=roof"), "nothing_to_try"),
    (
        "checked panel=bonnet",
        (*PREPPED, "covered panel=roof all_round=true", "buffed panel=roof"),
        "not_buffed",
    ),
    ("lapped panel=roof neighbour=roof", (*PREPPED, "covered panel=roof"), "no_seam"),
    (
        "defect_fixed panel=bonnet",
        (*PREPPED, "covered panel=roof", "defect panel=roof kind=run"),
        "no_defect",
    ),
    (
        "back_to_correction panel=bonnet",
        (*PREPPED, "covered panel=roof", "levelled panel=roof"),
        "not_covered",
    ),
    ("start_stage stage=cure", (), "stage_not_now"),
    ("start_stage stage=correction", ("start_stage stage=inspection",), "stage_not_now"),
    ("start_stage stage=intake", (), "stage_already"),
    ("finish_stage stage=wash", (), "stage_not_running"),
    ("set_humidity humidity_percent=0", (), "humidity_impossible"),
    ("set_humidity humidity_percent=101", (), "humidity_impossible"),
    ("set_air_temp temp_c=150", (), "temp_impossible"),
    ("set_panel_temp temp_c=150", (), "temp_impossible"),
    ("film_reading panel=roof film_um=0", (), "film_impossible"),
    ("laying panel=roof", (), "not_now"),
    ("yes", (), "not_now"),
    ("read_note", (), "no_note"),
    ("undo", (), "nothing_to_undo"),
    ("that_was_wrong", (), "nothing_to_undo"),
    ("ask_elapsed panel=roof", (), "no_clock"),
    ("ask_remaining", (), "no_clock"),
)


@pytest.mark.parametrize(("line", "before", "topic"), REFUSED)
def test_what_does_not_fit_is_refused_with_a_reason(line, before, topic):
    worker = at_work(*before)
    states, stage = worker.states(), worker.it.stage
    assert worker.topic(line) == topic
    assert (worker.states(), worker.it.stage) == (states, stage)


def test_residue_and_machining_that_are_not_there():
    worker = at_work(*TO_CORRECTION, "residue_left panel=roof", plan="one_step")
    assert worker.topic("residue_wiped panel=bonnet") == "no_residue"
    worker.do("residue_wiped panel=roof", "start_panel panel=roof")
    assert worker.topic("finish_panel panel=bonnet") == "not_machining"
    assert worker.topic("start_panel panel=roof") == "panel_not_now"


def test_a_remover_that_is_not_on_or_has_no_sheet():
    worker = at_work("start_stage stage=wash", "start_dwell agent=iron_remover")
    assert worker.topic("end_dwell agent=tar_remover") == "not_dwelling"
    plan = replace(worker.it.plan, products={})
    bare = replace(worker.it, plan=plan)
    command = Command("start_dwell", {"agent": "tar_remover"})
    (said,) = says(decide(bare, command, START_UTC, DESK))
    assert said.topic == "no_dwell_sheet"
    worker.do("end_dwell")
    assert worker.it.dwells == {}


def test_without_a_job_only_a_job_can_be_opened():
    (said,) = says(decide(None, Command("undo"), START_UTC, DESK))
    assert said.topic == "no_job"
    (said,) = says(decide(None, Command("open_job", {"plan": "gilding"}), START_UTC, DESK))
    assert said.topic == "no_such_sheet"


def test_after_closing_the_next_job_can_be_opened():
    worker = at_work("asks close_job", "yes")
    (said,) = says(decide(worker.it, Command("undo"), START_UTC, DESK))
    assert said.topic == "no_job"
    opened = decide(worker.it, Command("open_job", {"body": "tiny"}), START_UTC, DESK)
    assert isinstance(opened.events[0], ev.JobOpened)


def test_a_plan_whose_stages_do_not_follow_opens_no_job():
    plan = replace(DESK.plans["coat_only"], stages=("intake", "coating"))
    desk = replace(DESK, plans={"odd": plan})
    (said,) = says(decide(None, Command("open_job", {"plan": "odd"}), START_UTC, desk))
    assert said.topic == "plan_impossible"


def test_commands_that_are_none_are_faults_of_the_program():
    worker = at_work()
    with pytest.raises(DecisionError, match="no command"):
        decide(worker.it, Command("polish_harder"), START_UTC, DESK)
    with pytest.raises(DecisionError, match="without film_um"):
        decide(worker.it, Command("film_reading", {"panel": "roof"}), START_UTC, DESK)


def test_a_gauge_cannot_read_plastic():
    worker = Worker("coat_only", "saloon")
    assert worker.topic("film_reading panel=left_mirror film_um=100") == "no_reading_possible"


def test_asleep_only_waking_is_acted_on():
    worker = at_work("sleep")
    assert decide(worker.it, Command("undo"), START_UTC, DESK).effects == ()
    worker.do("wake")
    assert not worker.it.asleep


def test_a_note_keeps_every_stretch_and_is_read_back():
    worker = at_work("take_note panel=roof")
    kept = keep_note_clip(worker.it, "c1.flac", 2.5, "deep scratch by the aerial", START_UTC)
    assert known_as(ev.NoteClipKept, kept.events[0]).note == "n1"
    worker.job = apply(worker.it, utterance(worker, kept.events))
    worker.do("end_note")
    said = one_said(worker.do("read_note"), NoteReadsReply)
    assert said.text == "deep scratch by the aerial"
    assert worker.it.notes[0].clips == ("c1.flac",)
    with pytest.raises(DecisionError):
        keep_note_clip(worker.it, "c2.flac", 1.0, "", START_UTC)


def test_a_forgotten_note_ends_with_the_next_act_and_undo_leaves_it_so():
    worker = at_work("take_note", "ask_where")
    before = worker.it
    assert before.dictating
    worker.do("set_air_temp temp_c=21")
    assert not worker.it.dictating
    worker.do("undo")
    assert not worker.it.dictating
    assert worker.it.air_c is None


def test_misheard_is_taken_back_marked_and_listened_for_again():
    worker = at_work("set_air_temp temp_c=21", "set_humidity humidity_percent=50")
    outcome = worker.say("that_was_wrong")
    undone, misheard = outcome.events
    assert isinstance(undone, ev.Undone) and isinstance(misheard, ev.Misheard)
    assert undone.decision == misheard.decision == worker.it.number - 1
    assert [known_as(Saying, effect).manner for effect in outcome.effects] == ["question"]
    assert (worker.it.air_c, worker.it.air_rh_percent) == (21, None)


def test_a_misheard_question_takes_nothing_else_back():
    worker = at_work("set_air_temp temp_c=21", "ask_where")
    asked = worker.it.number
    (misheard,) = worker.say("that_was_wrong").events
    assert isinstance(misheard, ev.Misheard)
    assert misheard.decision == asked
    assert worker.it.air_c == 21
    worker.say("that_was_wrong")
    assert worker.it.air_c is None


def test_a_note_that_nobody_asked_for_ends():
    worker = at_work("take_note")
    worker.say("that_was_wrong")
    assert not worker.it.dictating


def test_not_understood_is_a_tone_then_the_nearest_meaning_then_the_board():
    worker = at_work()
    near = NearMiss("roof label", "roof flag", Command("ask_open"), 1.0, "far")
    assert not_understood(worker.it, near, START_UTC, DESK).effects == (Tone("not_understood"),)
    twice = not_understood(replace(worker.it, misses=1), near, START_UTC, DESK)
    assert [e.topic for e in twice.effects if isinstance(e, Saying)] == ["did_you_mean"]
    thrice = not_understood(replace(worker.it, misses=2), near, START_UTC, DESK)
    assert [e.topic for e in thrice.effects if isinstance(e, Saying)] == ["look_at_board"]


def test_what_was_probably_meant_is_asked_at_once_but_never_an_answer():
    worker = at_work()
    near = NearMiss("roof", "roof flag", Command("ask_open"), 0.0, "unsure", likely=True)
    asked = not_understood(worker.it, near, START_UTC, DESK)
    assert [e.topic for e in asked.effects if isinstance(e, Saying)] == ["did_you_mean"]
    answer = replace(near, nearest="yes please", command=Command("yes"))
    assert not_understood(worker.it, answer, START_UTC, DESK).effects == (Tone("not_understood"),)


def test_yes_to_the_nearest_meaning_is_no_insisting():
    worker = at_work(*TO_COATING)
    near = NearMiss("", "roof", Command("laying", {"panel": "roof"}), 1.0, "")
    asked = not_understood(replace(worker.it, misses=1), near, START_UTC, DESK)
    worker.job = apply(worker.it, utterance(worker, asked.events))
    assert worker.topic("yes") == "not_prepped"


def test_a_cold_panel_near_the_dew_point_is_told():
    # At 20 degrees and 80 percent the dew point is 16.4 degrees (psychrometric tables).
    worker = at_work("set_air_temp temp_c=20", "set_humidity humidity_percent=80")
    told = worker.do("set_panel_temp panel=roof temp_c=17").effects
    assert [e.topic for e in told if isinstance(e, Saying)] == ["panel_temp", "near_dew_point"]
    warm = worker.do("set_panel_temp panel=roof temp_c=20").effects
    assert [e.topic for e in warm if isinstance(e, Saying)] == ["panel_temp"]
