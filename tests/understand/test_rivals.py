"""What else may have been said, against every phrase there is."""

import pytest

from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.understand.costs import FIGURES
from bayhelper.understand.meaning import expansions
from bayhelper.understand.offer import offer_of_grammar
from bayhelper.understand.rivals import LONGEST, rivals
from bayhelper.understand.sample import sample

SMALL = """#JSGF V1.0;
grammar small;
public <all> = <verb> the [<side>] (door | wing) [now] | film [is] <count> [point <count>]
             | rinse (door | left wing) twice;
<verb> = laying down | wipe | buffed;
<side> = left | right | near side;
<count> = one | two | twenty | twenty two;
"""


@pytest.fixture(scope="module")
def offer():
    return build_library().offer(build_scope(Settings()))


def phrases_of(jsgf):
    rows = jsgf.split("\n", 2)[2]
    found = offer_of_grammar("#JSGF V1.0;\ngrammar rivals;\n" + rows, "rivals")
    return {words for branch in found.branches for words, _ in expansions(branch.node)}


def differ_in_one_place(a, b):
    """By brute force: equal but for one stretch of each, and what may stand in those."""
    for start in range(min(len(a), len(b)) + 1):
        for tail in range(min(len(a), len(b)) - start + 1):
            if a[:start] == b[:start] and a[len(a) - tail :] == b[len(b) - tail :]:
                one, other = a[start : len(a) - tail], b[start : len(b) - tail]
                plain = FIGURES.isdisjoint(one + other)
                if max(len(one), len(other)) <= LONGEST if plain else len(one + other) <= 2:
                    return True
    return False


def test_all_that_differs_in_one_place_is_found_and_nothing_else():
    offer = offer_of_grammar(SMALL, "small")
    every = {words for branch in offer.branches for words, _ in expansions(branch.node)}
    assert len(every) > 60
    for said in every:
        found = rivals(offer.branches, said, lambda found: found.words)
        told = {
            (*said[:start], *instead, *said[end:])
            for (start, end), those in found.items()
            for instead in those
        }
        assert told == {other for other in every - {said} if differ_in_one_place(said, other)}, said
    assert offer.rivals_jsgf(said) == "", "without commands nobody knows what means the same"


def test_a_rival_may_be_said_and_means_something_else(offer):
    for say, name, slots in sample(offer, 60, seed=5):
        words = tuple(say.split())
        for rival in list(phrases_of(offer.rivals_jsgf(words)))[:20]:
            addressed, rest = offer.split_address(rival)
            command = offer.match(rival).command
            assert addressed
            assert offer.accepts(rest)
            assert command is None or (command.name, command.slots) != (name, slots), (say, rival)


def test_the_ones_that_sound_alike_are_among_them(offer):
    """Thirteen and thirty, a mirror and a rear door: common practice, no source."""
    film = phrases_of(offer.rivals_jsgf("workshop copy roof film nine hundred thirteen".split()))
    assert tuple("workshop copy roof film nine hundred thirty".split()) in film
    buffed = phrases_of(offer.rivals_jsgf("workshop copy buffed the left mirror".split()))
    assert tuple("workshop copy buffed the left rear door".split()) in buffed
    assert tuple("workshop copy buffed the right mirror".split()) in buffed
    same = tuple("workshop copy buffed the nearside mirror".split())
    assert same not in phrases_of(
        offer.rivals_jsgf("workshop copy buffed the near side mirror".split())
    )


def test_what_is_no_phrase_has_no_rivals(offer):
    assert offer.rivals_jsgf(()) == ""
    assert offer.rivals_jsgf("workshop copy".split()) == ""
    assert rivals(offer.branches, ("polish", "purple"), lambda found: found.words) == {}
