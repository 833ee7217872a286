"""Our reading of JSGF beside an independent one: the parser that PocketSphinx carries (in C).

The format is the W3C Note 'JSpeech Grammar Format', 5 June 2000. Each grammar is put to both, with
every sequence of up to three words; they must accept the same ones, or both refuse the grammar.
"""

import itertools

import pocketsphinx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayhelper.hear.engines.phrases import covering_phrases
from bayhelper.run.resources import grammar_texts
from bayhelper.sheets.bodies import load_body
from bayhelper.terms.errors import GrammarError
from bayhelper.terms.scope import Scope
from bayhelper.understand.offer import Library, offer_of_grammar
from bayhelper.understand.sample import sample

HEAD = "#JSGF V1.0;\ngrammar t;\n"
SEQUENCES = [s for n in range(4) for s in itertools.product("abc", repeat=n)]
PARSER = pocketsphinx.Decoder(lm=None, loglevel="FATAL")
OFFER = Library(grammar_texts()).offer(Scope(body=load_body("saloon"), address="workshop copy"))


def theirs(text):
    """Sequences that PocketSphinx accepts, or None when it refuses the grammar."""
    try:
        model = PARSER.parse_jsgf(HEAD + text)
    except ValueError:
        return None
    return {s for s in SEQUENCES if model.accept(" ".join(s))}


def ours(text):
    try:
        offer = offer_of_grammar(HEAD + text, "t.jsgf")
    except GrammarError:
        return None
    return {s for s in SEQUENCES if offer.accepts(s)}


@pytest.mark.parametrize(
    "text",
    [
        "public <o> = a | <NULL>;",
        "public <o> = (a b)+ {x} {y};",
        "public <o> = a b {t\\}x};",
        "public <o> = <VOID> | b;",
        "public <o> = <VOID>;",
        "public <o> = /0.5/ a | /2/ b | /1e-3/ c;",
        "public <o> = [a | b] * c;",
        "public <o> = (a {t})* b;",
        "public <o> = a b* | (c);",
        "public <o> = [[a] b];",
        "public <o> = <t.p>; <p> = b; // comment",
        "public <o> = a /* comment\n over lines */ b;",
        "public <o> = <p>*; <p> = a [b];",
        "public <o> = a <o> | b;",
        "public <o> = a <p> | b; <p> = c <o> | a;",
        "public <o> = a (b | <p>); <p> = c <p> | c;",
        "public <o> = a {} b;",
        "public <o> = a b | a c | a (b | c) c;",
        # refused by both
        "public <o> = a | ;",
        "public <o> = ;",
        "public <o> = () a;",
        "public <o> = [] a;",
        "public <o> = a/b c;",
        "public <o> = (a | b;",
        "public <o> = a {x;",
    ],
)
def test_the_same_words_are_accepted(text):
    assert ours(text) == theirs(text)


ATOMS = st.sampled_from(["a", "b", "c", "<NULL>"])
NODES = st.recursive(
    ATOMS,
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda xs: f"({' '.join(xs)})"),
        st.lists(inner, min_size=2, max_size=4).map(lambda xs: f"({' | '.join(xs)})"),
        inner.map(lambda x: f"[{x}]"),
        inner.map(lambda x: f"({x} {{k=v}})"),
        inner.map(lambda x: f"({x})*"),
        inner.map(lambda x: f"({x})+"),
    ),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(NODES)
def test_the_same_words_are_accepted_of_any_grammar(body):
    text = f"public <o> = {body};"
    assert ours(text) == theirs(text)


def test_what_engines_are_given_accepts_what_we_sample():
    """The flattened grammar and the tree that the matcher walks are one language."""
    for addressed in (True, False):
        model = PARSER.parse_jsgf(OFFER.jsgf(addressed))
        for say, _, _ in sample(OFFER, 600, seed=5):
            words = say if addressed else say.removeprefix("workshop copy ")
            assert model.accept(words), words


def test_what_engines_are_given_accepts_nothing_that_we_do_not():
    """Samples with one word dropped, doubled or changed: both say yes, or both say no."""
    model = PARSER.parse_jsgf(OFFER.jsgf(addressed=False))
    vocabulary = OFFER.words()
    both = 0
    for number, (say, _, _) in enumerate(sample(OFFER, 700, seed=6)):
        words = say.split()[2:]
        at = number % len(words)
        other = vocabulary[number * 7 % len(vocabulary)]
        changed = {
            0: words[:at] + words[at + 1 :],
            1: [*words[:at], words[at], *words[at:]],
            2: [*words[:at], other, *words[at + 1 :]],
        }[number % 3]
        assert OFFER.accepts(changed) == model.accept(" ".join(changed)), changed
        both += OFFER.accepts(changed)
    assert both  # some changes leave a phrase, so both answers were compared


def test_phrases_for_list_engines_are_phrases_of_the_tree():
    """The list is made from the flattened text by other code; the tree must know each phrase."""
    phrases = covering_phrases(OFFER.jsgf(addressed=False))
    assert all(OFFER.accepts(phrase.split()) for phrase in phrases)
    used = {pair for phrase in phrases for pair in itertools.pairwise(phrase.split())}
    for say, _, _ in sample(OFFER, 600, seed=7):
        assert set(itertools.pairwise(say.split()[2:])) <= used


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("public <o> = a\n  | ;", r"x.jsgf, line 4, column 5.*a word"),
        ("public <o> =\n  b <nope>;", r"x.jsgf, line 4, column 5: <nope> is not defined"),
        ("import <u.x>;\npublic <o> = <x>;", r"x.jsgf, line 3, column 8: imports <u.x>"),
        ("public <o> = a;\n<o> = b;", r"x.jsgf, line 4: the rule <o> is defined twice"),
        ("public <o> = <o> a | b;", "before its end"),
        ("public <o> = (a <o>)* b;", "before its end"),
        ("public <o> = [a <o>] b;", "before its end"),
        ("public <o> = (a", r"line 3.*Expected one of"),
    ],
)
def test_errors_say_where_and_what_was_expected(text, said):
    with pytest.raises(GrammarError, match="(?s)" + said):
        offer_of_grammar(HEAD + text, "x.jsgf")


def test_quoted_words_are_words():
    """W3C Note, 'Tokens': quotes make one token (PocketSphinx keeps the marks)."""
    offer = offer_of_grammar(HEAD + 'public <o> = "new york" a;', "x.jsgf")
    assert offer.accepts(["new", "york", "a"])
    assert offer.words() == ("a", "new", "york")


def test_a_file_that_begins_with_a_byte_order_mark_is_read():
    assert offer_of_grammar("\ufeff" + HEAD + "public <o> = a;", "x.jsgf").accepts(["a"])
