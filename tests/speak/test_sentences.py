"""Every saying has its words, and every word of them is asked for by somebody."""

import re
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest

import bayhelper.decide as deciding
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import SENTENCES, words
from bayhelper.speak.wording import decimal_words, in_time, listed
from bayhelper.terms.saying import DueAlert, Saying
from tests.decide.stories import STORIES
from tests.decide.worker import Worker, says
from tests.speak.calling import FIELDS, OTHERS, kinds, sample

UK = Names(load_body("saloon"), "uk")
US = Names(load_body("saloon"), "us")
KINDS = kinds()


def test_every_saying_has_its_words_and_all_words_belong_to_one():
    assert set(SENTENCES) == {*KINDS.values(), DueAlert}


def test_no_two_sayings_share_a_topic():
    assert len(KINDS) == len(Saying.__subclasses__()) - 1


def test_every_saying_is_said_somewhere():
    source = "".join(file.read_text() for file in Path(deciding.__path__[0]).rglob("*.py"))
    assert not [kind.__name__ for kind in KINDS.values() if kind.__name__ not in source]


def _elsewhere(name):
    value = FIELDS[name]
    return OTHERS[name] if name in OTHERS else (3 * value,)


@pytest.mark.parametrize("topic", sorted(KINDS))
def test_each_field_is_heard_in_the_words(topic):
    """A field that is not heard need not be there; a number is laid beside three times as much."""
    kind = KINDS[topic]
    for field in fields(kind):
        heard = set()
        for base in BASES.get(topic, ({},)):
            said_first = sample(kind, **base)
            others = [
                replace(said_first, **{field.name: value}) for value in _elsewhere(field.name)
            ]
            heard |= {words(said_first, UK) != words(other, UK) for other in others}
        assert True in heard, f"{kind.__name__}.{field.name} is never heard"


BASES: dict[str, tuple[dict[str, Any], ...]] = {
    "paused": ({}, {"parts": ()}),
    "close_open": ({}, {"parts": ()}, {"parts": (), "bare": ()}),
    "outside_sheet": ({}, {"what": "panel too hot"}),
    "found_high_spot": ({}, {"age_s": 4000.0}),
    "found_run": ({}, {"age_s": 4000.0}),
    "film": ({}, {"count": 2}),
    "remaining": ({}, {"latest_in_s": -70.0}),
}
"""Sayings of which a field counts only beside certain values of another."""


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


def said(topic: str, names: Names = UK, **given: object) -> str:
    return words(sample(KINDS[topic], **given), names)


def test_what_the_car_is_kept_from_is_told_in_hours_or_days():
    assert said("keep") == "Keep dry and free of dust for twenty four hours."
    assert said("keep", rule="No washing", for_s=7 * 86_400.0) == "No washing for seven days."


def test_seams_that_are_spared_or_unwiped_are_named():
    spared = said("lapped_all", panel="roof", neighbour="left_sill")
    assert spared == "Roof lapped all round. Not to left sill."
    assert said("lapped_all", panel="roof", neighbour="") == "Roof lapped all round."
    assert said("unwiped", panel="").startswith("Left front door to left front wing unwiped")


@pytest.mark.parametrize("topic", sorted(set(KINDS) - HELD))
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
    roof: dict[str, Any] = {"panel": "roof"}
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
    assert said("undone", act="Trial wipe", **roof) == "Roof. Trial wipe taken back."
    assert said("undone", act="Pad cleaned", panel="") == "Pad cleaned taken back."
    assert said("misheard", act="", panel="") == "Say it again."


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
                assert words(say, names)
