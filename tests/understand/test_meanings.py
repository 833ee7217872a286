"""One meaning for each phrase, the nearest phrase for each mishearing, and no figure bent."""

import itertools
import random
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bayhelper.run.resources import grammar_texts
from bayhelper.sheets.bodies import load_body
from bayhelper.terms.scope import Scope
from bayhelper.understand.costs import lone_cost, swap_cost
from bayhelper.understand.meaning import pairs
from bayhelper.understand.offer import Library, plain_words
from bayhelper.understand.sample import sample
from bayhelper.understand.tree import Alt, Opt, Seq, Tagged, Word
from tests.known import known

LIBRARY = Library(grammar_texts())
SALOON = Scope(body=load_body("saloon"), address="")
OFFER = LIBRARY.offer(SALOON)
FEW = LIBRARY.offer(
    Scope(
        body=load_body("saloon"),
        address="",
        commands=frozenset({"levelled", "covered", "lapped", "undo", "ask_bare"}),
        panels={
            "levelled": frozenset({"roof", "bonnet", "left_front_door", "right_front_door"}),
            "covered": frozenset({"roof", "left_front_door"}),
            "lapped": frozenset({"roof"}),
        },
    )
)


def ways(node):
    """Every way to say a tree, with its tags; a spoken number stands as the one word '#'."""
    match node:
        case Word(text=text):
            return [((text,), ())]
        case Seq(items=items):
            found = [((), ())]
            for item in items:
                found = [(w + v, t + u) for w, t in found for v, u in ways(item)]
            return found
        case Alt(options=options):
            return [way for option in options for way in ways(option)]
        case Opt(item=item):
            return [((), ()), *ways(item)]
        case Tagged(item=item, tag=tag):
            told = tuple(pairs(tag).items())
            if "#" in pairs(tag).values():
                return [(("#",), told)]
            return [(words, tags + told) for words, tags in ways(item)]
    raise AssertionError(f"a shipped grammar holds {node}")


@pytest.mark.parametrize("body", ["saloon", "hatchback"])
@pytest.mark.parametrize("dialect", ["uk", "us"])
@pytest.mark.parametrize("steering", ["left", "right"])
def test_no_phrase_has_two_meanings(body, dialect, steering):
    """Every phrase of the grammar, all of them: the same words never mean two things."""
    scope = Scope(load_body(body), "", dialect=dialect, steering=steering)
    meant: dict[tuple[str, ...], tuple[tuple[str, object], ...]] = {}
    for branch in LIBRARY.offer(scope).branches:
        for words, tags in ways(branch.node):
            told = tuple(sorted(dict(tags).items()))
            assert meant.setdefault(words, told) == told, words
    assert len(meant) > 3000


def test_a_seam_has_two_sides():
    """What can be said to be lapped is a seam of the car, never a panel and itself."""
    body = load_body("saloon")
    seams = {frozenset((seam.a, seam.b)) for seam in body.seams}
    said = set()
    for branch in OFFER.branches:
        if branch.command == "lapped":
            said = {
                frozenset((dict(tags)["panel"], dict(tags)["neighbour"]))
                for _, tags in ways(branch.node)
            }
    assert said
    assert said <= seams


def aligned(heard, phrase):
    """Least cost of turning one row of words into another, by the plain table (Wagner-Fischer)."""
    row = list(itertools.accumulate((lone_cost(word) for word in phrase), initial=0.0))
    for h in heard:
        above, row = row, [row[0] + lone_cost(h)]
        for at, word in enumerate(phrase):
            row.append(
                min(
                    above[at + 1] + lone_cost(h),
                    row[at] + lone_cost(word),
                    above[at] + swap_cost(h, word),
                )
            )
    return row[-1]


PHRASES = [
    (words, tuple(sorted(dict(tags).items())))
    for branch in FEW.branches
    for words, tags in ways(branch.node)
]
HEARD = st.tuples(st.sampled_from(PHRASES), st.randoms(use_true_random=False)).map(
    lambda drawn: misheard(drawn[0][0], drawn[1])
)


def misheard(words, draw: random.Random):
    words = list(words)
    for _ in range(draw.choice((0, 1, 1, 2))):
        at = draw.randrange(len(words))
        words[at : at + 1] = draw.choice(
            ([], ["the"], [words[at], "um"], [words[at][:-1] or "a"], ["roofs"], ["one"])
        )
        words = words or ["roof"]
    return words


@settings(max_examples=120, deadline=None)
@given(HEARD)
@example(["which", "roofs", "bare"])
def test_the_nearest_phrase_is_the_nearest_of_all(heard):
    """The search beside a comparison with every phrase there is, rival included."""
    costs = sorted((aligned(heard, words), meant) for words, meant in PHRASES)
    nearest = costs[0][0]
    rival = next(cost for cost, meant in costs if meant != costs[0][1])
    match = FEW.match(heard)
    if nearest > 2.5:
        assert match.phrase == ""
        return
    assert match.edits == pytest.approx(nearest)
    if nearest > 0 and rival <= min(nearest + 0.5, 2.5):
        assert match.rival_edits == pytest.approx(rival)
    else:
        assert match.rival_edits == float("inf")


@pytest.mark.parametrize(
    "heard",
    [
        "fixed the high spot on the front door",
        "send the front wing back to correction",
        "looked over the front door",
    ],
)
def test_a_side_that_was_not_said_is_not_guessed(heard):
    match = OFFER.match(heard.split())
    assert match.edits == match.rival_edits
    assert match.command is None


@pytest.mark.parametrize(
    "heard", ["roof is uncovered", "flag the roof unwrapped", "bonnet is unprepped"]
)
def test_a_word_is_not_taken_for_its_opposite(heard):
    assert OFFER.match(heard.split()).command is None


AMOUNTS = {
    "give the roof {} more minutes": "minutes",
    "roof film {} microns": "film_um",
    "humidity {} percent": "humidity_percent",
    "the air is {} degrees celsius": "temp_c",
    "roof surface {} degrees": "temp_c",
}


@pytest.mark.parametrize("line", AMOUNTS)
@settings(max_examples=60, deadline=None)
@given(amount=st.one_of(st.integers(0, 1200), st.decimals(0, 200, places=2)))
def test_a_figure_is_taken_as_it_was_said_or_not_at_all(line, amount):
    """Nothing near a figure is good enough: 'seventy minutes' is never 'seven'."""
    command = OFFER.match(plain_words(line.format(amount))).command
    if command is not None:
        assert command.slots[AMOUNTS[line]] == pytest.approx(float(amount), abs=1e-9)


def test_a_unit_is_not_dropped():
    """70 mils is 1778 micrometres: not 70, and not the 17 mils that is spelt much alike."""
    assert OFFER.match(plain_words("left front door film 70 mils")).command is None


@pytest.mark.parametrize(
    ("line", "temp_c"),
    [
        ("the air is 22.5 °C", 22.5),
        ("the air is 22.5c", 22.5),
        ("The air is 72 °F", 22.2),
        ("the air is 72 degrees F", 22.2),
        ("air temperature 72 fahrenheit", 22.2),
    ],
)
def test_typed_units_are_read(line, temp_c):
    """0 °C is 32 °F, and 1.8 °F is a step of 1 °C exactly (NIST SP 811, appendix B.8)."""
    assert known(OFFER.match(plain_words(line)).command).slots == {"temp_c": temp_c}


@pytest.mark.parametrize(
    ("line", "film_um"),
    [("roof film 112 µm", 112.0), ("roof film 112um", 112.0), ("roof film 4.5 mil", 114.3)],
)
def test_typed_film_units_are_read(line, film_um):
    """1 mil is 25.4 micrometres exactly (international inch; NIST SP 811, appendix B.8)."""
    assert known(OFFER.match(plain_words(line)).command).slots["film_um"] == film_um


def test_matching_is_quick():
    """Least of three runs, processor time; half of the phrases with a word misheard."""
    slowest = 0.0
    for number, (say, _, _) in enumerate(sample(OFFER, 120, seed=9)):
        words = say.split()
        if number % 2:
            words[number % len(words)] = "gromit"
        took = []
        for _ in range(3):
            began = time.process_time()
            OFFER.match(words)
            took.append(time.process_time() - began)
        slowest = max(slowest, min(took))
    assert slowest < 0.05
