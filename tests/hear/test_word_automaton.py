"""The automaton must accept exactly what the grammar says, word for word."""

from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bayhelper.hear.engines.word_automaton import grammar_automaton, phrase_automaton
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.terms.errors import HearingError

VOCABULARY = ("wax", "door", "left")
LONGEST = 5
PHRASES = [said for count in range(1, LONGEST + 1) for said in product(VOCABULARY, repeat=count)]


def jsgf(*rules):
    first, *rest = rules
    return f"#JSGF V1.0;\ngrammar g;\npublic <g> = {first};\n" + "".join(f"{r};\n" for r in rest)


EMPTY = frozenset({()})


def joined(*parts):
    """What is said by saying one part after another, as far as it is short enough."""
    said = EMPTY
    for part in parts:
        said = frozenset(x + y for x, y in product(said, part) if len(x + y) <= LONGEST)
    return said


def repeated(part):
    said = part
    while (longer := said | joined(said, part)) != said:
        said = longer
    return said


def larger(pieces):
    """Pairs of a piece of grammar and the set of what it says."""
    several = st.lists(pieces, min_size=1, max_size=3)
    return st.one_of(
        several.map(lambda ps: (" ".join(g for g, _ in ps), joined(*(said for _, said in ps)))),
        several.map(
            lambda ps: (f"({' | '.join(g for g, _ in ps)})", frozenset().union(*dict(ps).values()))
        ),
        pieces.map(lambda p: (f"[{p[0]}]", p[1] | EMPTY)),
        pieces.map(lambda p: (f"({p[0]})*", repeated(p[1]) | EMPTY)),
        pieces.map(lambda p: (f"({p[0]})+", repeated(p[1]))),
        pieces.map(lambda p: (f"({p[0]} {{tag}} | <VOID>)", p[1])),
        pieces.map(lambda p: (f"(/0.5/ {p[0]} | <NULL>)", p[1] | EMPTY)),
    )


WORDS = st.sampled_from(VOCABULARY).map(lambda word: (word, frozenset({(word,)})))
RULE = st.just(("<r>", frozenset({("left",), ("door", "left")})))
GRAMMARS = st.recursive(WORDS | RULE, larger, max_leaves=10)


def states_apart(automaton):
    """Pairs of states that some ending tells apart."""
    count = len(automaton.steps)
    pairs = list(product(range(count), repeat=2))
    apart = {(x, y) for x, y in pairs if automaton.final[x] != automaton.final[y]}
    while True:
        more = {
            (x, y)
            for x, y in pairs
            if automaton.steps[x].keys() != automaton.steps[y].keys()
            or any(
                (automaton.steps[x][w], automaton.steps[y][w]) in apart for w in automaton.steps[x]
            )
        }
        if more <= apart:
            return apart
        apart |= more


@given(GRAMMARS)
def test_an_automaton_accepts_what_its_grammar_says_and_has_no_state_too_many(piece):
    grammar, said = piece
    assume(said - EMPTY)
    automaton = grammar_automaton(jsgf(grammar, "<r> = [door] left"))
    assert {words for words in PHRASES if automaton.accepts(words)} == said - EMPTY
    assert not automaton.accepts([])
    count = len(automaton.steps)
    assert len(states_apart(automaton)) == count * (count - 1)


@pytest.mark.parametrize(
    ("grammar", "states"),
    [
        ("wax", 2),
        ("(left | right) door", 3),
        ("left door | right door | the (left door | right door)", 4),
        ("wax [it] [again]", 4),
        ("(left)+", 2),
    ],
)
def test_it_is_as_small_as_it_can_be(grammar, states):
    assert len(grammar_automaton(jsgf(grammar)).steps) == states


def test_one_phrase():
    automaton = phrase_automaton(("hey", "bay"))
    assert automaton.accepts(("hey", "bay"))
    assert not automaton.accepts(("hey",))
    assert automaton.words() == ("bay", "hey")


def test_the_shipped_grammar_becomes_small_and_keeps_its_phrases():
    offer = build_library().offer(build_scope(Settings()))
    automaton = grammar_automaton(offer.jsgf(True))
    assert automaton.words() == offer.words()
    assert len(automaton.steps) < 600
    assert automaton.accepts([*offer.address.split(), "open", "a", "new", "job"])
    assert not automaton.accepts([*offer.address.split(), "open", "a", "new"])
    assert not automaton.accepts(["open", "a", "new", "job"])


@pytest.mark.parametrize("grammar", ["<VOID>", "wax <VOID>", "[<VOID>]"])
def test_a_grammar_that_says_nothing_is_refused(grammar):
    with pytest.raises(HearingError, match="Nothing can be said"):
        grammar_automaton(jsgf(grammar))


def test_a_rule_that_holds_itself_is_refused():
    with pytest.raises(HearingError, match="holds itself"):
        grammar_automaton(jsgf("<again>", "<again> = wax [<again>]"))
