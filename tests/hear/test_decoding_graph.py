"""Graphs, read back from their files by a reader of their own, must spell what they are to say."""

import heapq
import struct
from collections import defaultdict
from math import inf, log

import pytest

from bayhelper.hear.engines.decoding_graph import (
    BLANK_COST,
    BREAK_COST,
    FREE_WORD_COST,
    PHONE_COST,
    SILENCE_CHANCE,
    UNKNOWN,
    address_graph,
    free_graph,
    grammar_graph,
    unknown_graph,
)
from bayhelper.hear.engines.lexicon import Lexicon
from bayhelper.hear.engines.phones import PHONES, SILENCE, TRANSITIONS, phone_ids, topology
from bayhelper.hear.engines.word_automaton import grammar_automaton
from bayhelper.terms.errors import HearingError

LEXICON = Lexicon(
    {
        "the": [("DH", "AH"), ("DH", "IY")],
        "a": [("AH",)],
        "right": [("R", "AY", "T")],
        "write": [("R", "AY", "T")],
        "ride": [("R", "AY", "D")],
    }
)
JSGF = "#JSGF V1.0; grammar g; public <g> = [the] (right | write) | a ride;"
PAUSE = -log(SILENCE_CHANCE)


class Graph:
    """What lies in a model's graph/."""

    def __init__(self, folder):
        lines = (folder / "words.txt").read_text(encoding="utf-8").splitlines()
        self.words = {int(at): word for word, at in (line.split() for line in lines)}
        data = (folder / "HCLG.fst").read_bytes()
        # 4 of magic, two counted texts, version and flags, then properties, start and two counts
        at = 4 + (4 + len("const")) + (4 + len("standard")) + 8 + 8
        self.start, states, arcs = struct.unpack_from("<qqq", data, at)
        at += 24
        rows = [struct.unpack_from("<fIIII", data, at + 20 * n) for n in range(states)]
        at += 20 * states
        assert len(data) == at + 16 * arcs
        self.finals = {n: row[0] for n, row in enumerate(rows) if row[0] < inf}
        self.arcs = [
            [struct.unpack_from("<iifi", data, at + 16 * k) for k in range(first, first + count)]
            for _, first, count, _, _ in rows
        ]

    def said(self, most_phones):
        """What can be said, cheapest: {(phone ids without silence, words): cost}."""
        found: dict[tuple[tuple[int, ...], tuple[str, ...]], float] = {}
        seen = set()
        queue: list[tuple[float, int, tuple[int, ...], tuple[str, ...]]] = [
            (0.0, self.start, (), ())
        ]
        while queue:
            cost, state, phones, words = heapq.heappop(queue)
            if (state, phones, words) in seen:
                continue
            seen.add((state, phones, words))
            if state in self.finals:
                found.setdefault((phones, words), cost + self.finals[state])
            for takes, gives, more, target in self.arcs[state]:
                way = TRANSITIONS[takes - 1] if takes else None
                onward: tuple[int, ...] = phones
                if way and way.state == 0 and way.to != 0 and way.phone != SILENCE:
                    onward = (*phones, way.phone)
                if len(onward) <= most_phones:
                    named = (*words, self.words[gives]) if gives else words
                    heapq.heappush(queue, (cost + more, target, onward, named))
        return found


@pytest.fixture
def read_back(tmp_path):
    def read(graph):
        graph.write(tmp_path)
        return Graph(tmp_path)

    return read


def spelt(*words):
    """Phone ids of the words' first pronunciations."""
    return tuple(p for word in words for p in phone_ids(LEXICON.pronunciations(word)[0]))


def test_a_grammar_says_its_phrases_in_every_pronunciation_and_what_they_begin_with(read_back):
    graph = read_back(grammar_graph(grammar_automaton(JSGF), LEXICON))
    phrases = [("right",), ("write",), ("the", "right"), ("the", "write"), ("a", "ride")]
    begun = [(), ("the",), ("a",)]
    expected = {(spelt(*phrase), phrase) for phrase in (*phrases, *begun)}
    thee = phone_ids(("DH", "IY"))
    expected.add((thee, ("the",)))
    expected |= {((*thee, *spelt(word)), ("the", word)) for word in ("right", "write")}
    assert set(graph.said(9)) == expected


def test_it_costs_its_pauses_and_to_break_off(read_back):
    automaton = grammar_automaton(JSGF)
    for (_, words), cost in read_back(grammar_graph(automaton, LEXICON)).said(9).items():
        broken = 0.0 if automaton.accepts(words) else BREAK_COST
        assert cost == pytest.approx(PAUSE * (1 + len(words)) + broken, abs=1e-5)


def test_every_phone_goes_through_its_states_as_kaldi_wants_it(read_back):
    """The way out of a state comes first, then its loops on the state that it leads to."""
    graph = read_back(grammar_graph(grammar_automaton(JSGF), LEXICON))
    after = defaultdict(set)
    for arcs in graph.arcs:
        for takes, _, cost, target in arcs:
            if takes:
                after[target].add((TRANSITIONS[takes - 1], cost))
    for state, ways in after.items():
        (entry,) = [way for way, _ in ways if way.to != way.state]
        (loop,) = [(way, cost) for way, cost in ways if way.to == way.state]
        assert (loop[0].phone, loop[0].state) == (entry.phone, entry.state)
        inside_blank = entry.phone != SILENCE and entry.state == 1
        assert loop[1] == pytest.approx(BLANK_COST if inside_blank else 0.0)
        ended = entry.to == len(topology(entry.phone))
        others = [
            TRANSITIONS[takes - 1] for takes, *_, to in graph.arcs[state] if takes and to != state
        ]
        assert [(way.phone, way.state) for way in others] == (
            [] if ended else [(entry.phone, entry.to)]
        )


def test_free_words_cost_by_rank_and_come_in_any_order(read_back):
    said = read_back(free_graph(LEXICON)).said(6)
    for rank, word in enumerate(LEXICON.words, start=1):
        cost = FREE_WORD_COST + log(rank) + 2 * PAUSE
        assert said[spelt(word), (word,)] == pytest.approx(cost, abs=1e-5)
    assert (spelt("ride", "right"), ("ride", "write")) in said
    assert ((), ()) in said
    assert all(phones == () or words for phones, words in said)


def test_words_that_begin_alike_share_their_beginning():
    alone = free_graph(Lexicon({"right": [("R", "AY", "T")]}))
    both = free_graph(Lexicon({"right": [("R", "AY", "T")], "ride": [("R", "AY", "D")]}))
    more = {int(graph.arcs["target"].max()) for graph in (alone, both)}
    assert max(more) - min(more) == 4  # one node and the three states of its phone


def test_anything_may_lie_around_the_address(read_back):
    said = read_back(address_graph(("a",), LEXICON)).said(2)
    other = phone_ids(("S",))
    assert said[spelt("a"), ("a",)] == pytest.approx(2 * PAUSE, abs=1e-5)
    for phones, words in (
        ((*other, *spelt("a")), (UNKNOWN, "a")),
        ((*spelt("a"), *other), ("a", UNKNOWN)),
    ):
        assert said[phones, words] == pytest.approx(3 * PAUSE + PHONE_COST, abs=1e-5)
    assert all("a" in words for _, words in said)


def test_anything_at_all(read_back):
    said = read_back(unknown_graph()).said(2)
    alone = {phones for phones, words in said if words == (UNKNOWN,)}
    ways = [(first, *rest) for first in PHONES for rest in ((), *((p,) for p in PHONES))]
    assert alone == {phone_ids(way) for way in ways}
    pair = phone_ids(("S", "T"))
    assert said[pair, (UNKNOWN,)] == pytest.approx(2 * PAUSE + 2 * PHONE_COST, abs=1e-5)


def test_it_says_where_in_a_word_each_phone_stands(tmp_path):
    unknown_graph().write(tmp_path)
    lines = (tmp_path / "phones" / "word_boundary.int").read_text().splitlines()
    kinds = dict(line.split() for line in lines)
    right = [kinds[str(phone)] for phone in phone_ids(("R", "AY", "T"))]
    assert right == ["begin", "internal", "end"]


def test_words_that_nobody_can_say_are_named():
    automaton = grammar_automaton("#JSGF V1.0; grammar g; public <g> = right (xyzzy | plugh);")
    with pytest.raises(HearingError, match="plugh, xyzzy"):
        grammar_graph(automaton, LEXICON)
