"""How far apart commands with different effects sound, and a floor that a new phrase must keep.

Sounds are those of the CMU Pronouncing Dictionary, as PocketSphinx carries it. Numbers and the
names of panels are left out: a number is read back, and the panel is the first word of every
answer.
"""

import itertools
from collections import Counter

import pocketsphinx
import pytest

from bayhelper.decide.acts.catalogue import ACTS
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.sounding import NEAR, distance
from bayhelper.run.resources import grammar_texts
from bayhelper.sheets.bodies import load_body
from bayhelper.terms.scope import Scope
from bayhelper.understand.meaning import pairs
from bayhelper.understand.offer import Library
from bayhelper.understand.tree import Alt, Opt, Seq, Tagged, Word

FLOOR = 1.4
"""Measured: 'touched the roof' and 'buffed the roof', and 'rear edge' and 'right edge'."""


def ways(node):
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
            return [(words, tags + told) for words, tags in ways(item) if "#" not in str(told)]
    raise AssertionError(f"a shipped grammar holds {node}")


@pytest.fixture(scope="module")
def phrases():
    """Sounds, words and meaning of every phrase about the roof, but for numbers and seams."""
    roof = dict.fromkeys(ACTS, frozenset({"roof"}))
    scope = Scope(load_body("saloon"), "", frozenset(ACTS) - {"lapped"}, roof)
    offer = Library(grammar_texts()).offer(scope)
    decoder = pocketsphinx.Decoder(lm=None, loglevel="FATAL")
    known = {word: decoder.lookup_word(word) for word in offer.words()}
    known |= Pronouncer().guess([word for word, sounds in known.items() if not sounds])
    return [
        ([s for word in words for s in known[word].split()], words, tuple(sorted(dict(t).items())))
        for branch in offer.branches
        for words, t in ways(branch.node)
    ]


def closest(phrases, within):
    """Pairs that mean different things and sound nearer than the limit, nearest first."""
    bags = [Counter(sounds) for sounds, _, _ in phrases]
    found = []
    for one, other in itertools.combinations(range(len(phrases)), 2):
        if phrases[one][2] == phrases[other][2]:
            continue
        apart = max(
            (bags[one] - bags[other]).total(), (bags[other] - bags[one]).total()
        )  # each of these costs at least NEAR
        if apart * NEAR < within:
            far = distance(phrases[one][0], phrases[other][0])
            if far < within:
                found.append((far, " ".join(phrases[one][1]), " ".join(phrases[other][1])))
    return sorted(found)


def test_no_two_commands_sound_nearer_than_the_floor(phrases):
    assert len(phrases) > 150
    assert closest(phrases, FLOOR - 1e-9) == []


def test_a_phrase_that_is_too_near_would_be_found(phrases):
    """The check can fail: a rhyme with a command is reported."""
    sounds = next(s for s, words, _ in phrases if words == ("roof", "is", "on"))
    rhyme = [(["HH", *sounds[1:]], ("hoof", "is", "on"), (("command", "other"),))]
    assert closest([*phrases, *rhyme], FLOOR)[0][1:] == ("roof is on", "hoof is on")


def test_no_word_is_another_with_un_before_it():
    """'Covered' and 'uncovered' must not both exist; 'do' and 'undo' share no phrase."""
    offer = Library(grammar_texts()).offer(Scope(load_body("saloon"), ""))
    words = set(offer.words())
    assert {word for word in words if f"un{word}" in words} == {"do"}
