"""Reading JSGF, narrowing, sampling, matching."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayhelper.decide.acts.catalogue import ACTS, SIGNATURES, of_stage
from bayhelper.run.resources import grammar_texts
from bayhelper.sheets.bodies import load_body
from bayhelper.terms.choices import STAGES
from bayhelper.terms.errors import GrammarError
from bayhelper.terms.scope import Scope
from bayhelper.understand.numbers import number, spoken
from bayhelper.understand.offer import Library, offer_of_grammar, plain_words
from bayhelper.understand.reader import read_grammar
from bayhelper.understand.sample import canonical, sample

LIBRARY = Library(grammar_texts())
SALOON = Scope(body=load_body("saloon"), address="workshop copy", technicians=("Robin",))
OFFER = LIBRARY.offer(SALOON)


def meaning(line, scope=SALOON):
    found = LIBRARY.offer(scope).match(plain_words(line)).command
    return found and (found.name, found.slots)


def test_every_command_of_the_catalogue_can_be_said():
    assert {branch.command for branch in OFFER.branches} == set(ACTS)


def test_every_stage_has_its_own_grammar():
    for stage in STAGES:
        assert "undo" in of_stage(stage)
    assert "levelled" in of_stage("coating")
    assert "levelled" not in of_stage("wash")


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10_000))
def test_what_is_sampled_means_its_command_word_for_word(seed):
    for say, command, slots in sample(OFFER, 57, seed):
        match = OFFER.match(say.split())
        assert match.addressed and match.edits == 0
        assert match.command is not None
        assert match.command.name == command
        assert match.command.slots == slots
        assert SIGNATURES[command].fits(slots)


def test_no_words_have_two_meanings():
    seen: dict[str, tuple[str, str]] = {}
    for say, command, slots in sample(OFFER, 800, 11):
        meant = (command, json.dumps(slots, sort_keys=True))
        assert seen.setdefault(say, meant) == meant


def test_the_same_seed_gives_the_same_sample():
    assert list(sample(OFFER, 20, 3)) == list(sample(OFFER, 20, 3))
    assert list(sample(OFFER, 20, 3)) != list(sample(OFFER, 20, 4))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("Roof is on, all round!", ("covered", {"panel": "roof", "all_round": True})),
        ("left front fender prepped", ("prepped", {"panel": "left_front_wing"})),
        ("bonnet left half is on", ("covered", {"panel": "bonnet", "half": "left"})),
        ("Robin, roof is on", ("covered", {"panel": "roof", "by": "Robin"})),
        ("roof film one oh five", ("film_reading", {"panel": "roof", "film_um": 105.0})),
        ("roof film two forty microns", ("film_reading", {"panel": "roof", "film_um": 240.0})),
        ("the air is 105 degrees fahrenheit", ("set_air_temp", {"temp_c": 40.6})),
        ("bonnet film 112 microns", ("film_reading", {"panel": "bonnet", "film_um": 112.0})),
        ("bonnet film 4.5 mils", ("film_reading", {"panel": "bonnet", "film_um": 114.3})),
        ("air temperature 72 degrees fahrenheit", ("set_air_temp", {"temp_c": 22.2})),
        ("humidity 55%", ("set_humidity", {"humidity_percent": 55.0})),
        ("roof levled", ("levelled", {"panel": "roof"})),
        ("wipe", None),
    ],
)  # fmt: skip
def test_typed_lines(line, expected):
    assert meaning(line) == expected


def test_colliding_words_follow_the_dialect():
    """Common practice, no source: a rear wing is a quarter panel here, a spoiler there."""
    hatchback = load_body("hatchback")
    us = Scope(body=hatchback, address="", dialect="us")
    uk = Scope(body=hatchback, address="", dialect="uk")
    assert meaning("rear wing prepped", us) == ("prepped", {"panel": "spoiler"})
    assert meaning("left rear wing prepped", uk) == ("prepped", {"panel": "left_quarter"})


def test_nearside_follows_the_driver():
    """Common practice, no source: the nearside is the kerb side, away from the driver."""
    left = Scope(body=load_body("saloon"), address="", steering="left")
    assert meaning("nearside front door prepped") == ("prepped", {"panel": "left_front_door"})
    assert meaning("nearside front door prepped", left) == (
        "prepped",
        {"panel": "right_front_door"},
    )


def test_narrowing_leaves_only_what_may_be_said():
    scope = Scope(
        body=load_body("saloon"),
        address="",
        commands=frozenset({"levelled", "undo"}),
        panels={"levelled": frozenset({"roof"})},
    )
    offer = LIBRARY.offer(scope)
    assert "bonnet" not in offer.words()
    assert meaning("roof levelled", scope) == ("levelled", {"panel": "roof"})
    assert offer.match(("section", "done")).command is None


@given(st.integers(0, 999))
def test_numbers_are_read_back(value):
    assert number(spoken(str(value))) == value


def test_spoken_numbers():
    assert number("one hundred and twelve point five".split()) == 112.5
    assert number("two and a half".split()) == 2.5
    with pytest.raises(GrammarError, match="no spoken number"):
        number(["roof"])


THIRD_PARTY = """#JSGF V1.0 UTF-8 en;
/* another shop's
   grammar */
grammar tea;
public <order> = [please] /2/ (tea | /1/ "green tea") {drink} <more>*; // comment
<more> = and (milk | lemon)+;
"""


def test_any_jsgf_can_be_read():
    offer = offer_of_grammar(THIRD_PARTY.replace("/2/ (tea", "(/2/ tea"), "tea.jsgf")
    match = offer.match("please green tea and milk lemon and milk".split())
    assert match.edits == 0 and match.command is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("grammar x; public <a> = (b;", "line 1"),
        ("grammar x; public <a> = <b>;", "not defined"),
        ("grammar x; public <a> = <a> b | c;", "before its end"),
        ("grammar x; public <a> = b; <a> = c;", "twice"),
        ("grammar x; import <y.z>; public <a> = b;", "no grammar 'y'"),
        ("grammar x; <a> = b;", "public"),
    ],
)
def test_bad_grammars_are_explained(text, said):
    with pytest.raises(GrammarError, match=said):
        offer_of_grammar("#JSGF V1.0;\n" + text, "bad.jsgf") if "line 1" not in said else (
            read_grammar(text, "bad.jsgf")
        )


def test_every_canonical_phrase_is_short():
    """Two to six words is what a person would say to a partner (our own rule)."""
    for command, phrase in canonical(OFFER):
        assert 1 < len(phrase.split()) <= 9, (command, phrase)


def test_the_order_grammar(tmp_path):
    folder = os.environ.get("BAYHELPER_ORDERS")
    if not folder:
        pytest.skip("BAYHELPER_ORDERS names no folder of order recordings")
    offer = offer_of_grammar((Path(folder) / "orders.jsgf").read_text(), "orders.jsgf")
    assert offer.match("i want a small latte with some milk".split()).edits == 0


def test_the_package_runs_as_a_module():
    done = subprocess.run(
        [sys.executable, "-m", "bayhelper", "phrases", "--stage", "wash"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "rinsed" in done.stdout
