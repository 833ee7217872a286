"""Vosk with graphs of our own: what it hears is a phrase of the grammar, whole and word for word.

Vosk makes a bigram of a list of phrases; a model that holds a ready graph is searched as it is. So
each grammar gets the model's network and a graph made here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from pathlib import Path
from typing import Any

from bayhelper.hear.capture.levels import SAID_WITHIN_DB, faintest_db
from bayhelper.hear.engines.decoding_graph import (
    UNKNOWN,
    address_graph,
    free_graph,
    grammar_graph,
    parameters,
    unknown_graph,
)
from bayhelper.hear.engines.graph_cache import GraphCache
from bayhelper.hear.engines.lexicon import LEXICON, read_lexicon
from bayhelper.hear.engines.nothing import NOTHING, NOWHERE
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.engines.vosk_graph import load_graph
from bayhelper.hear.engines.vosk_library import FRAMES_PER_S, VoskReading, readings
from bayhelper.hear.engines.word_automaton import WordAutomaton, grammar_automaton
from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Spotted

READINGS = 10
"""Asked for, the best included."""
KEPT = 2
"""Grammars kept ready, with the address and without."""
GRAMMAR_SEARCH = {"beam": 15.0, "max-active": 7000, "lattice-beam": 8.0}
"""Wide, so that rival readings are left."""
FREE_SEARCH = {"beam": 10.0, "lattice-beam": 2.0}
"""Of 60 recordings in quiet and in a kitchen one is read otherwise than with a beam of 13, with at
most 0.0012 less a frame, in two thirds of the time."""
LOOSE_SEARCH = {"beam": 15.0, "max-active": 7000, "lattice-beam": 0.5}
"""Only the best path counts, and loops of phones fill a lattice."""
NEEDED = ("am/final.mdl", "conf/model.conf", LEXICON)
"""Files without which nothing can be read: the network, its settings, how words are said."""


@dataclass(frozen=True)
class _Grammar:
    automaton: WordAutomaton
    model: Any


class ExactVoskEngine(Closing):
    """Satisfies terms.ports.Engine; nothing carries over from one call to the next."""

    name = "vosk"

    def __init__(self, model: Path, cache: Path, pronouncer: Pronouncer) -> None:
        """`model` holds am/, conf/ and the lexicon.

        Graphs are made when they are first asked for. That of free words is kept in `cache`; a
        grammar's takes less time to make than to check. Raises HearingError when something is
        missing.
        """
        for part in NEEDED:
            if not (model / part).is_file():
                raise HearingError(f"The model in {model} has no {part}. Give the whole folder.")
        self._model = model
        self._cache = GraphCache(cache)
        self._lexicon = read_lexicon(model / LEXICON, pronouncer)
        self._grammars: dict[str, _Grammar] = {}
        self._loose: dict[str, Any] = {}
        self._free: Any = None

    def close(self) -> None:
        """Let go of every graph."""
        self._grammars.clear()
        self._loose.clear()
        self._free = None

    def missing_words(self, words: Sequence[str]) -> tuple[str, ...]:
        """Words that have no pronunciation, not even a guessed one."""
        return self._lexicon.missing(words)

    def listen(self, sound: Sound, jsgf: str) -> Decode:
        """The best phrase of a grammar, and the next best.

        Raises HearingError for a grammar that it cannot take.
        """
        if jsgf not in self._grammars:
            while len(self._grammars) >= KEPT:
                del self._grammars[next(iter(self._grammars))]
            self._grammars[jsgf] = self._grammar(jsgf)
        return _phrases(self._grammars[jsgf], sound)

    def listen_once(self, sound: Sound, jsgf: str) -> Decode:
        """The same, and the grammar is forgotten."""
        return _phrases(self._grammar(jsgf), sound)

    def listen_freely(self, sound: Sound) -> Decode:
        """The best reading in any of the lexicon's words."""
        if self._free is None:
            digest = hashlib.sha256(parameters().encode())
            digest.update((self._model / LEXICON).read_bytes())
            self._free = load_graph(
                self._model,
                FREE_SEARCH,
                lambda into: self._cache.lay(
                    digest.hexdigest(), lambda made: free_graph(self._lexicon).write(made), into
                ),
            )
        return _decode(readings(self._free, sound, 1), sound)

    def spot(self, sound: Sound, phrase: str) -> Spotted:
        """The phrase with anything around it, against anything at all; see terms.ports."""
        words = tuple(phrase.split())
        if not words or self.missing_words(words):
            return NOWHERE
        if phrase not in self._loose:
            graphs = {phrase: address_graph(words, self._lexicon), UNKNOWN: unknown_graph()}
            self._loose = {
                name: load_graph(self._model, LOOSE_SEARCH, graph.write)
                for name, graph in graphs.items()
            }
        held = next(readings(self._loose[phrase], sound, 1), None)
        other = next(readings(self._loose[UNKNOWN], sound, 1), None)
        if held is None or other is None:
            return NOWHERE
        spoken = zip(held.words, held.spans_s, strict=True)
        known = [(word, start_s) for word, (start_s, _) in spoken if word != UNKNOWN]
        if tuple(word for word, _ in known) != words:
            return NOWHERE
        return Spotted((held.score - other.score) / log(10), known[0][1])

    def _grammar(self, jsgf: str) -> _Grammar:
        automaton = grammar_automaton(jsgf)
        graph = grammar_graph(automaton, self._lexicon)
        return _Grammar(automaton, load_graph(self._model, GRAMMAR_SEARCH, graph.write))


def _phrases(grammar: _Grammar, sound: Sound) -> Decode:
    """The best, even one that breaks off before the end of a phrase; of the others whole ones.

    What would need words where nothing was said comes behind what does not, however it scores.
    """
    found = list(readings(grammar.model, sound, READINGS))
    if not found or not found[0].words:
        return NOTHING
    whole = [one for one in found if one is found[0] or grammar.automaton.accepts(one.words)]
    best = next((one for one in whole if _is_said(one, sound)), found[0])
    return _decode((best, *(one for one in whole if one is not best)), sound)


def _is_said(reading: VoskReading, sound: Sound) -> bool:
    return bool(reading.words) and faintest_db(sound, reading.spans_s) <= SAID_WITHIN_DB


def _decode(found: Iterable[VoskReading], sound: Sound) -> Decode:
    frames = max(1.0, sound.length_s * FRAMES_PER_S)
    best: dict[tuple[str, ...], VoskReading] = {}
    for one in found:
        if one.words:
            best.setdefault(one.words, one)
    if not best:
        return NOTHING
    first, *rest = best.values()
    others = tuple((one.words, one.score / frames) for one in rest)
    return Decode(first.words, first.score / frames, first.spans_s, others)
