"""Every topic that a decision can speak of has its sentence, and every sentence its topic."""

from __future__ import annotations

import ast
import inspect
import re

import pytest
from bayhelper.speak.replies import REPLIES
from bayhelper.speak.reply_words import TAKEN_BACK, decimal_words, in_time, listed

import bayhelper.decide as package
from bayhelper.decide import decide as decide_module
from bayhelper.decide.acts import (
    answers,
    cautions,
    coating,
    correction,
    fitting,
    laying,
    learning,
    notes,
    questions,
    stages,
    supplies,
    surfaces,
    talkback,
)
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.names import Names
from bayhelper.speak.warnings import WARNINGS
from bayhelper.terms.command import COMMANDS
from bayhelper.terms.effects import Say
from tests.decide.stories import STORIES
from tests.decide.worker import Worker, says

MODULES = (
    answers,
    cautions,
    coating,
    correction,
    decide_module,
    fitting,
    laying,
    learning,
    notes,
    questions,
    stages,
    supplies,
    surfaces,
    talkback,
)
SPEAKERS = {
    "did": 1,
    "answer": 0,
    "refuse": 0,
    "ask_to_insist": 2,
    "ask_yes_no": 2,
    "ask_which": 2,
    "Say": 0,
}
"""Functions that take a topic, and which argument it is."""
SPREAD = {
    "trial_{result}": ("trial_wet", "trial_clean", "trial_grabbing"),
    "found_{kind}": ("found_high_spot", "found_run", "found_water"),
    "{command.name}": ("quieter", "louder"),
    "{topic}": ("prep_stale_guard", "not_prepped"),
}
"""Topics that are put together, and what may come of it."""
UK = Names(load_body("saloon"), "uk")
US = Names(load_body("saloon"), "us")


def topics() -> set[str]:
    found: set[str] = set()
    for module in MODULES:
        for call in ast.walk(ast.parse(inspect.getsource(module))):
            if not isinstance(call, ast.Call):
                continue
            name = getattr(call.func, "attr", getattr(call.func, "id", ""))
            if name not in SPEAKERS or module is answers or len(call.args) <= SPEAKERS[name]:
                continue
            topic = call.args[SPEAKERS[name]]
            if isinstance(topic, ast.Constant):
                found.add(topic.value)
            else:
                text = ast.unparse(topic).removeprefix("f").strip("'\"")
                found.update(SPREAD[text if "{" in text else f"{{{text}}}"])
    return found


def test_no_module_that_speaks_is_left_out():
    speaking = {
        info.stem
        for info in sorted(__import__("pathlib").Path(package.__path__[0]).rglob("*.py"))
        if re.search(r"Say\(|answers\.(did|answer|refuse|ask_)", info.read_text())
    }
    assert speaking - {"alerts"} == {m.__name__.rpartition(".")[2] for m in MODULES}


def test_every_topic_has_its_sentence_and_every_sentence_its_topic():
    assert topics() == set(REPLIES)


def test_replies_and_warnings_do_not_share_a_topic():
    assert not set(REPLIES) & set(WARNINGS)


def test_everything_that_can_be_taken_back_has_a_name():
    assert set(TAKEN_BACK) == {name for name, spec in COMMANDS.items() if spec.undoable}


PARAMS: dict[str, object] = {
    "panel": "left_front_wing",
    "half": "",
    "plan": "one-step polish and coat",
    "stage": "coating",
    "now": "wash",
    "next": "cure",
    "text": "Hello.",
    "parts": ("bonnet/left", "roof"),
    "bare": ("left_front_door+left_front_wing",),
    "temp_c": 21.5,
    "humidity_percent": 55.0,
    "margin_c": 1.4,
    "what": "panel too hot",
    "earliest_s": 180.0,
    "best_s": 240.0,
    "film_um": 112.0,
    "mean_um": 115,
    "count": 2,
    "flag": "wrapped",
    "agent": "iron_remover",
    "agents": ("iron_remover",),
    "rinse_in_s": 180.0,
    "wipe_in_s": 300.0,
    "neighbours": ("left_front_door", "bonnet"),
    "neighbour": "left_front_door",
    "again_in_s": 60.0,
    "covered_for_s": 240.0,
    "place": "rear_edge",
    "surface": "single_stage",
    "missing": ("batch", "surface"),
    "stood_s": 700.0,
    "batch": "4072",
    "extra_s": 60.0,
    "layers": 1,
    "layer": 2,
    "seconds": 130.0,
    "laying": False,
    "best_in_s": 100.0,
    "latest_in_s": 280.0,
    "seams": ("left_front_door+left_front_wing", "left_front_wing+left_sill"),
    "done": 3,
    "total": 15,
    "in_s": 40.0,
    "part": "roof",
    "first": "roof",
    "command": "covered",
    "phrase": "roof level",
    "state": "covered",
    "off_s": 1200.0,
    "rule": "Keep dry and free of dust",
    "for_s": 86_400.0,
}
HELD = frozenset({"caution", "again", "note_reads", "did_you_mean"})
"""Sentences whose words come from elsewhere."""
PANEL_FIRST = frozenset(
    "panel_temp near_dew_point no_reading_possible film flagged gentle_panel machining "
    "not_machining machined residue_left no_residue residue_wiped prepped touched "
    "prep_stale_guard not_prepped leaving_bare recoat_early recoat_late next_recoat laying covered "
    "lapped_all lapped no_seam "
    "nothing_to_try trial_wet trial_clean trial_grabbing not_covered levelled buffed not_buffed "
    "checked found_high_spot found_run no_defect defect_fixed sent_back more_time no_clock "
    "elapsed remaining bare unwiped next_wipe next_panel undone misheard panel_not_now".split()
)


def said(topic: str, names: Names = UK, **params: object) -> str:
    return REPLIES[topic](Say(topic, {**PARAMS, **params}), names)  # type: ignore[dict-item]


def test_what_the_car_is_kept_from_is_told_in_hours_or_days():
    assert said("keep") == "Keep dry and free of dust for twenty four hours."
    assert said("keep", rule="No washing", for_s=7 * 86_400.0) == "No washing for seven days."


def test_seams_that_are_spared_or_unwiped_are_named():
    spared = said("lapped_all", panel="roof", neighbour="left_sill")
    assert spared == "Roof lapped all round. Not to left sill."
    assert said("lapped_all", panel="roof", neighbour="") == "Roof lapped all round."
    assert said("unwiped", panel="").startswith("Left front door to left front wing unwiped")


@pytest.mark.parametrize("topic", sorted(set(REPLIES) - HELD))
def test_the_sentence_is_short_plain_and_finished(topic):
    text = said(topic)
    assert text[0].isupper() and text[-1] in ".?", text
    assert not re.search(r"[0-9_{}]|  |\.\.", text), text
    assert not re.search(r"\b(good|perfect|fine|please(?!\.)|sorry|thank)\b", text), text
    # Two and a half seconds hold about eight words at 190 words a minute; guards hold two
    # sentences and the name of a panel three words.
    assert len(text.split()) <= 16, text


@pytest.mark.parametrize("topic", sorted(PANEL_FIRST))
def test_the_panel_comes_first(topic):
    assert said(topic).lower().startswith("left front wing"), said(topic)
    assert said(topic, US).lower().startswith("left front fender"), said(topic, US)


@pytest.mark.parametrize("topic", ["dirty_pad", "gentle_panel", "not_prepped", "leaving_bare"])
def test_a_guard_says_how_to_insist(topic):
    assert said(topic).endswith("or say do it anyway.")


def test_sentences_as_they_are_heard():
    roof = {"panel": "roof"}
    assert said("covered", **roof) == "Roof on. Wipe in five."
    assert said("covered", all_round=True, **roof) == "Roof on, all round. Wipe in five."
    assert said("which_panel") == "Bonnet left half or roof?"
    assert said("close_sure") == "Close the job? Say yes please."
    assert said("dirty_pad") == "Pad is dirty. Clean it, or say do it anyway."
    assert said("film", count=1, **roof) == "Roof one hundred and twelve microns."
    assert said("remaining", latest_in_s=-70.0, **roof) == "Roof overdue by seventy seconds."
    assert said("remaining", best_in_s=0.0, **roof) == "Roof now. Five minutes left."
    assert said("bare", panel="", seams=()) == "No seam known bare."
    assert said("where", stage="intake", done=0, total=0, layer=1) == "Intake."
    assert said("near_dew_point", margin_c=-1.0, **roof) == (
        "Roof is below the dew point, it will sweat."
    )
    assert said("undone", command="trial", **roof) == "Roof. Trial wipe taken back."
    assert said("undone", command="pad_cleaned", panel="") == "Pad cleaned taken back."
    assert said("misheard", command="", panel="") == "Say it again."


def test_numbers_are_said_as_people_say_them():
    assert decimal_words(21.5) == "twenty one point five"
    assert decimal_words(-3.0) == "minus three"
    assert decimal_words(-0.04) == "zero"
    assert decimal_words(100) == "one hundred"
    assert in_time(240) == "in four"
    assert in_time(95) == "in two minutes"
    assert in_time(2) == "now"
    assert listed(["a", "b", "c", "d"]) == "a, b and two more"


def test_every_sentence_of_every_story_can_be_said():
    names = Names(load_body("saloon"), "uk")
    for story in STORIES:
        worker = Worker(story.plan)
        for line in story.lines:
            for say in says(worker.do(line)):
                assert REPLIES[say.topic](say, names)
