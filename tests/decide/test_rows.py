"""What the rows of the acts promise: where, when and on what each may be asked for.

The tables below are the work as it is done in a bay (common practice, no source), written down
apart from the rows.
"""

from __future__ import annotations

import pytest

from bayhelper.decide.acts.catalogue import (
    ACTS,
    ROWS,
    SIGNATURES,
    allowed,
    allowed_panels,
    of_stage,
)
from bayhelper.decide.acts.talk import undoable
from bayhelper.decide.decide import decide, not_understood
from bayhelper.run.resources import grammar_texts
from bayhelper.sheets.bodies import load_body
from bayhelper.terms.choices import STAGES
from bayhelper.terms.command import Command, NearMiss
from bayhelper.terms.saying import Saying
from bayhelper.terms.scope import Scope
from bayhelper.understand.offer import Library
from bayhelper.understand.sample import sample
from tests.decide.stories import TO_COATING
from tests.decide.worker import DESK, Worker, bare_of_talk

LIBRARY = Library(grammar_texts())
IN_EVERY_STAGE = frozenset(
    "open_job pause_job resume_job close_job set_air_temp set_humidity set_panel_temp start_stage "
    "finish_stage film_reading flag_panel ask_elapsed ask_remaining ask_bare ask_unwiped ask_next "
    "ask_where ask_open say_again take_note end_note read_note undo that_was_wrong yes no "
    "choose_panel insist answered hush quieter louder sleep wake".split()
)
MACHINE = "start_panel polish_on section_done pad_cleaned pad_changed"
LOOKING = "checked defect defect_fixed back_to_correction"
ONLY_IN = {
    "intake": "",
    "wash": "start_dwell end_dwell",
    "decontamination": "start_dwell end_dwell",
    "inspection": f"{MACHINE} prepped",
    "correction": f"{MACHINE} finish_panel residue_left residue_wiped prepped",
    "panel_wipe": "prepped touched laying covered residue_wiped batch",
    "coating": "prepped touched laying covered all_round lapped trial levelled buffed more_time "
    f"start_layer residue_wiped ask_fits ask_all_off batch applicator_changed towels_changed "
    f"{LOOKING}",
    "cure": LOOKING,
}
LAID = (*TO_COATING, "prepped panel=roof", "laying panel=roof")
COVERED = (*LAID, "wait 60", "covered panel=roof all_round=true")
BUFFED = (*COVERED, "wait 300", "levelled panel=roof all_round=true", "buffed panel=roof")
TO_INSPECTION = TO_COATING[:3]
TO_MACHINE = (*TO_INSPECTION, "start_stage stage=correction")
OFFERED = {
    "resume_job": ((), ("pause_job",)),
    "pause_job": (("pause_job",), ("pause_job", "resume_job")),
    "end_note": ((), ("take_note",)),
    "take_note": (("take_note",), ("take_note", "end_note")),
    "end_dwell": (TO_COATING[:1], (*TO_COATING[:1], "start_dwell agent=iron_remover")),
    "finish_panel": (TO_MACHINE, (*TO_MACHINE, "start_panel panel=roof")),
    "residue_wiped": (TO_MACHINE, (*TO_MACHINE, "residue_left panel=roof")),
    "trial": (LAID, COVERED),
    "ask_all_off": (TO_COATING, LAID),
    "more_time": (TO_COATING, LAID),
    "levelled": (TO_COATING, LAID),
    "all_round": (TO_COATING, LAID),
    "lapped": (TO_COATING, LAID),
    "buffed": (LAID, COVERED),
    "checked": (COVERED, BUFFED),
    "defect": (TO_COATING, COVERED),
    "defect_fixed": (COVERED, (*COVERED, "defect panel=roof kind=run")),
    "back_to_correction": (COVERED, BUFFED),
    "touched": (TO_COATING, (*TO_COATING, "prepped panel=roof")),
    "wake": ((), ("sleep",)),
    "open_job": ((), ("asks close_job", "yes")),
    "yes": ((), ("asks close_job",)),
    "no": ((), ("asks close_job",)),
    "start_layer": ((*TO_COATING,), None),
    "start_stage": (None, ()),
    "start_panel": (TO_COATING[:2], TO_INSPECTION),
    "polish_on": (TO_COATING[:2], TO_INSPECTION),
    "prepped": (TO_COATING[:2], TO_COATING[:4]),
}
"""Lines after which an act is not offered, and after which it is; None where there are none."""


@pytest.mark.parametrize("stage", STAGES)
def test_each_stage_has_its_own_acts(stage):
    assert of_stage(stage) == IN_EVERY_STAGE | set(ONLY_IN[stage].split())


@pytest.mark.parametrize("name", OFFERED)
def test_an_act_is_offered_only_when_it_can_be_done(name):
    before, after = OFFERED[name]
    for lines, offered in ((before, False), (after, True)):
        if lines is not None:
            worker = Worker("one_step")
            worker.do(*lines)
            assert (name in allowed(worker.it)) is offered, lines


def test_a_plan_without_polish_has_no_pads():
    worker = Worker("coat_only")
    worker.do(*TO_INSPECTION)
    for name in MACHINE.split():
        assert name not in allowed(worker.it)


@pytest.mark.parametrize(
    ("lines", "act", "stage"),
    [
        (TO_INSPECTION, "start_panel panel=roof", "correction"),
        (TO_INSPECTION, "prepped panel=roof", "panel_wipe"),
        (TO_MACHINE, "prepped panel=roof", "panel_wipe"),
        ((*TO_COATING[:4], "prepped panel=roof"), "laying panel=roof", "coating"),
        ((*TO_COATING[:4], "prepped panel=roof"), "covered panel=roof", "coating"),
    ],
)
def test_doing_the_work_of_a_stage_begins_it(lines, act, stage):
    plan = "coat_only" if lines == TO_INSPECTION and "prepped" in act else "one_step"
    worker = Worker(plan)
    worker.do(*lines, act)
    assert worker.it.stage == stage


def test_no_other_act_begins_a_stage():
    named = {"start_panel", "prepped", "laying", "covered"}
    assert {act.name for act in ROWS if act.begins} == named


@pytest.mark.parametrize("name", ACTS)
def test_every_slot_of_a_row_can_be_said_and_no_other(name):
    scope = Scope(body=load_body("saloon"), address="shop", commands=frozenset({name}))
    said = [set(slots) for _, _, slots in sample(LIBRARY.offer(scope), 400, 3)]
    signature = SIGNATURES[name]
    assert set().union(*said) - {"by"} == signature.needs | signature.may
    assert set.intersection(*said) >= signature.needs


ASKS = "ask_elapsed ask_remaining ask_bare ask_unwiped ask_next ask_fits ask_all_off ask_where"
KEEPS = frozenset(f"{ASKS} ask_open say_again answered hush quieter louder".split())
VALUES = {
    "ask_elapsed": "panel=roof", "set_air_temp": "temp_c=20", "set_humidity": "humidity_percent=50",
    "set_panel_temp": "temp_c=20", "film_reading": "panel=roof film_um=100",
    "flag_panel": "panel=roof flag=thin", "levelled": "panel=roof", "more_time": "panel=roof",
    "all_round": "panel=roof", "lapped": "panel=roof neighbour=bonnet", "trial": "result=wet",
    "start_stage": "stage=panel_wipe", "defect": "panel=roof kind=run",
    "laying": "panel=bonnet", "covered": "panel=bonnet", "prepped": "panel=bonnet",
    "buffed": "panel=roof", "touched": "panel=bonnet",
}  # fmt: skip


SETTLING = {"yes", "no", "insist", "close_job", "pause_job", "batch"}
TURNING_BACK = {"undo", "that_was_wrong", "close_job", "sleep", "batch"}


def _line(name):
    return f"{name} {VALUES[name]}" if name in VALUES else name


def test_after_a_question_of_ones_own_that_of_the_helper_still_waits():
    worker = Worker("coat_only")
    worker.do(*COVERED, "asks pause_job")
    waiting = worker.it
    for name in sorted(allowed(waiting) - SETTLING):
        worker.job = waiting
        worker.say(_line(name))
        kept = worker.it.question is not None and worker.it.question.topic == "pause_open"
        assert kept is (name in KEEPS), name


def test_answers_are_never_asked_about():
    worker = Worker("coat_only")
    for name in ACTS:
        slots = {slot.name: "x" for slot in ACTS[name].needs}
        near = NearMiss("", "so", Command(name, slots), 0.0, "unsure", likely=True)
        asked = not_understood(worker.it, near, worker.now_utc, DESK).events
        assert bool(asked) is (name not in {"yes", "no", "insist", "choose_panel"}), name


NOTHING_TO_UNDO = IN_EVERY_STAGE - set(
    "pause_job resume_job set_air_temp set_humidity set_panel_temp start_stage finish_stage "
    "film_reading flag_panel".split()
) | {"ask_fits", "ask_all_off"}


def test_what_changes_the_job_can_be_taken_back_and_nothing_else():
    assert {act.name for act in ROWS if not act.taken_back} == NOTHING_TO_UNDO


def test_no_two_acts_are_called_alike_when_taken_back():
    called = [act.taken_back for act in ROWS if act.taken_back]
    assert len(set(called)) == len(called)
    assert all(
        name[0].isupper() and name.replace(" ", "").replace("-", "").isalpha() for name in called
    )


def test_a_note_that_was_forgotten_ends_with_the_next_act_and_with_no_question():
    worker = Worker("coat_only")
    worker.do(*COVERED, "take_note")
    dictating = worker.it
    ends = {name for name in allowed(dictating) if ACTS[name].taken_back} | {"end_note"}
    for name in sorted(allowed(dictating) - TURNING_BACK):
        worker.job = dictating
        outcome = worker.say(_line(name))
        sayings = [effect for effect in outcome.effects if isinstance(effect, Saying)]
        asks = any(saying.manner != "reply" for saying in sayings)
        assert worker.it.dictating is (name not in ends or asks), name
    worker.job = dictating
    worker.do("asks close_job", "yes")
    assert worker.it.closed_at_utc is not None and not worker.it.dictating


@pytest.mark.parametrize(
    "line",
    [
        "start_panel panel=rear_screen",
        "residue_left panel=rear_screen",
        "prepped panel=roof",
        "touched panel=bonnet",
        "laying panel=roof",
        "covered panel=roof",
        "all_round panel=bonnet",
        "lapped panel=bonnet neighbour=roof",
        "defect panel=bonnet kind=run",
    ],
)
def test_a_panel_that_cannot_be_meant_is_refused_by_how_it_stands(line):
    worker = Worker("one_step", "saloon")
    name = line.split()[0]
    lines = TO_MACHINE if name in ("start_panel", "residue_left") else COVERED
    worker.do(*lines, *(("prepped panel=boot_lid",) if name == "touched" else ()))
    assert worker.topic(line) == "panel_not_now"
    assert line.split()[1].removeprefix("panel=") not in allowed_panels(worker.it)[name]


def test_taking_back_leaves_the_job_as_it_was():
    worker = Worker("one_step")
    worker.do(*TO_MACHINE)
    for name in (
        "start_panel panel=roof",
        "polish_on",
        "section_done",
        "pad_cleaned",
        "pad_changed",
    ):
        before = worker.it
        worker.do(name)
        last = undoable(worker.it, ACTS)
        assert last is not None and last.command == name.split()[0]
        worker.do("undo")
        assert bare_of_talk(worker.it) == bare_of_talk(before)


def test_a_job_that_is_closed_or_absent_can_only_be_opened():
    assert allowed(None) == {"open_job"}
    worker = Worker()
    worker.do("asks close_job", "yes")
    assert allowed(worker.it) == {"open_job"}
    (told,) = decide(worker.it, Command("undo"), worker.now_utc, DESK).effects
    assert told.topic == "no_job"


def test_asleep_there_is_only_waking():
    worker = Worker()
    worker.do("sleep")
    assert allowed(worker.it) == {"wake"}
