"""High spots: found, placed, levelled, looked at again, or too old."""

from dataclasses import replace

import pytest

from bayhelper.decide.due.deadlines import deadlines
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words as sentence
from bayhelper.terms.subjects.looking import FoundHighSpotReply
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker, one_said, says

ROOF = (
    "prepped panel=roof", "laying panel=roof", "wait 60", "covered panel=roof all_round=true",
    "wait 300", "levelled panel=roof all_round=true", "buffed panel=roof",
)  # fmt: skip
FOUND = "defect panel=roof kind=high_spot place=rear_edge"


def coated(rework_s=1800.0):
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, *ROOF)
    sheet = worker.it.products["demo_gloss"]
    products = worker.it.products | {"demo_gloss": replace(sheet, rework_s=rework_s)}
    worker.job = replace(worker.it, products=products)
    return worker


def words(say):
    return sentence(say, Names(load_body("saloon"), "uk"))


def looks(worker):
    return [d.due_at_utc for d in deadlines(worker.it) if d.alert == "look_again"]


def test_a_young_one_is_to_be_levelled_at_once():
    worker = coated()
    worker.do("wait 600")
    said = one_said(worker.say(FOUND), FoundHighSpotReply)
    assert said.topic == "found_high_spot" and said.age_s == pytest.approx(600)
    assert words(said) == "Roof, high spot, rear edge. Level it straight away."


def test_without_a_time_on_the_sheet_only_its_age_is_told_and_the_person_decides():
    worker = coated(rework_s=None)
    worker.do("wait 7200")
    (said,) = says(worker.say(FOUND))
    assert said.topic == "found_high_spot"
    assert words(said) == "Roof, high spot, rear edge. Two hours old, level it straight away."


def test_past_the_sheets_time_it_goes_back_and_the_plan_grows():
    worker = coated()
    worker.do("wait 1801")
    (said,) = says(worker.say(FOUND))
    assert words(said) == "Roof, high spot, thirty minutes old. Past the sheet, send it back."
    worker.do("back_to_correction panel=roof")
    assert worker.states()["roof"] == "rework"
    worker.do("start_stage stage=correction", "start_panel panel=roof", "finish_panel panel=roof")
    worker.do("start_stage stage=panel_wipe", "prepped panel=roof", "start_stage stage=coating")
    worker.do("laying panel=roof")
    assert worker.states()["roof"] == "laying"


def test_after_it_was_levelled_the_panel_is_looked_at_again():
    worker = coated()
    worker.do("wait 600", "checked panel=roof")
    assert looks(worker) == []
    worker.do("wait 60", FOUND, "wait 30", "defect_fixed panel=roof")
    (due_utc,) = looks(worker)
    assert (due_utc - worker.now_utc).total_seconds() == pytest.approx(600)
    worker.do("wait 600", "checked panel=roof")
    assert looks(worker) == []
