"""Whether the exact grammar or Vosk's own bigram of phrases reads more commands right.

    python -m benchmarks.bigram COMMANDS [--streams N]

The same network and pronunciations, on the same recordings of the reporting half of COMMANDS
(training/make_corpora.py), cleaned by RNNoise and cut where they were put: no end-pointer, no
address search and no line is between. The bigram gets phrases that together use every pair of
neighbouring words of the grammar (bayhelper/hear/engines/phrases.py), and is measured at several
costs of a word. Writes benchmarks/results/bigram.md.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from bayhelper.hear.capture.denoise import StreamSuppressor
from bayhelper.hear.capture.denoising_networks import RNNOISE, RNNoise
from bayhelper.hear.capture.endpoint import RATE_HZ
from bayhelper.hear.engines.decoding_graph import GRAPH, grammar_graph
from bayhelper.hear.engines.exact_vosk_engine import GRAMMAR_SEARCH, ExactVoskEngine
from bayhelper.hear.engines.fst_file import write_const_fst
from bayhelper.hear.engines.lexicon import LEXICON, Lexicon, read_lexicon
from bayhelper.hear.engines.model_finder import find_model
from bayhelper.hear.engines.phrases import covering_phrases
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.engines.vosk_graph import load_graph
from bayhelper.hear.engines.vosk_library import readings
from bayhelper.hear.engines.word_automaton import WordAutomaton, grammar_automaton
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.terms.sound import Sound
from bayhelper.understand.phrase_offer import PhraseOffer
from benchmarks.hearing.__main__ import LEVELS, STREAM
from benchmarks.hearing.material import Spoken, held_out, is_said
from benchmarks.hearing.noises import all_noises
from benchmarks.hearing.streams import build

RESULTS = Path(__file__).parent / "results" / "bigram.md"
"""The table that is kept."""
AROUND_S = 0.3
"""Kept before the first word and behind the last."""
WORD_COSTS = (0.0, -1.5, -3.0)
"""Natural logarithms; below 0 a word is worth something, so that fewer are dropped."""
SHOWN = ("clean", "10", "5")
"""Levels of noise in the table, decibels below speech."""
ABOUT = (
    "# Exact grammar or bigram of phrases",
    "",
    "`python -m benchmarks.bigram COMMANDS`. Whole commands of held-out speakers behind RNNoise,",
    "beside polisher, compressor, extractor and water, each cut where it was put. *No phrase* is",
    "refused by the ear; *other* is a phrase with another meaning, which other lines may refuse.",
    "",
)
"""What stands over the table."""

Reader = Callable[[Sound], tuple[str, ...]]


@dataclass(frozen=True)
class Heard:
    """One recording as it comes to a reader."""

    sound: Sound
    """Cleaned."""
    spoken: Spoken
    """What is said in it."""
    snr: str
    """One of SHOWN."""


def recordings(commands: Path, offers: dict[str, PhraseOffer], streams: int) -> Iterator[Heard]:
    """So many streams a level, dialects and noises in turn."""
    said = held_out(commands, offers)
    noises = all_noises([], None, 1)
    for number in range(streams):
        dialect = list(offers)[number % len(offers)]
        own = [one for one in said if one.dialect == dialect]
        order = np.random.default_rng(number).permutation(len(own))[:STREAM]
        noise = list(noises.values())[number % len(noises)]
        for snr in SHOWN:
            stream = build([own[at] for at in order], noise, LEVELS[snr], "plain", number)
            with StreamSuppressor(RNNOISE, RNNoise()) as suppressor:
                pcm = suppressor.feed(stream.pcm) + suppressor.finish()
            for placed in stream.placed:
                first = round((placed.start_s - AROUND_S) * RATE_HZ)
                last = round((placed.end_s + AROUND_S) * RATE_HZ)
                yield Heard(Sound(pcm[2 * first : 2 * last], RATE_HZ), placed.spoken, snr)


def bigram_reader(model: Path, lexicon: Lexicon, jsgf: str, word_cost: float) -> Reader:
    """Vosk with a graph of the grammar's words in any order, under which it lays its bigram."""
    words = grammar_automaton(jsgf).words()
    loop = grammar_graph(WordAutomaton((dict.fromkeys(words, 0),), (True,)), lexicon)
    arcs = loop.arcs.copy()
    arcs["cost"] += np.where(arcs["output"] > 0, word_cost, 0.0).astype(np.float32)

    def lay(folder: Path) -> None:
        loop.write(folder)
        (folder / GRAPH).unlink()
        write_const_fst(folder / "HCLr.fst", arcs, loop.finals, sort="output")
        (folder / "disambig_tid.int").write_text(f"{arcs['input'].max() + 1}\n", encoding="utf-8")

    loaded = load_graph(model, GRAMMAR_SEARCH, lay)
    phrases = json.dumps(covering_phrases(jsgf))

    def read(sound: Sound) -> tuple[str, ...]:
        best = next(readings(loaded, sound, 1, phrases), None)
        return best.words if best else ()

    return read


def exact_reader(engine: ExactVoskEngine, jsgf: str) -> Reader:
    """As the ear reads."""
    return lambda sound: engine.listen(sound, jsgf).words


def outcome(
    words: tuple[str, ...], offer: PhraseOffer, whole: WordAutomaton, spoken: Spoken
) -> str:
    """'right', 'no phrase' (cannot be acted on) or 'other' (means something else)."""
    if not whole.accepts(words):
        return "no phrase"
    return "right" if is_said(offer.match(words).command, spoken) else "other"


def table(counts: dict[str, dict[str, Counter[str]]], spent_s: dict[str, float]) -> Iterator[str]:
    """One row a reader."""
    yield "| reader | " + " | ".join(f"{snr}, right" for snr in SHOWN) + " | no phrase | other |"
    yield "| --- |" + " --- |" * (len(SHOWN) + 2)
    for name, by_snr in counts.items():
        shares = [f"{by_snr[snr]['right']} of {by_snr[snr].total()}" for snr in SHOWN]
        lost = [str(sum(by_snr[snr][kind] for snr in SHOWN)) for kind in ("no phrase", "other")]
        yield f"| {name} | " + " | ".join([*shares, *lost]) + " |"
    first, *others = spent_s
    yield ""
    for name in others:
        yield f"Processor time, {name} by {first}: {spent_s[name] / spent_s[first]:.1f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("commands", type=Path)
    parser.add_argument("--streams", type=int, default=8)
    options = parser.parse_args()
    library = build_library()
    offers = {
        dialect: library.offer(build_scope(Settings(dialect=dialect))) for dialect in ("uk", "us")
    }
    model, pronouncer = find_model(), Pronouncer()
    lexicon = read_lexicon(model / LEXICON, pronouncer)
    counts: dict[str, dict[str, Counter[str]]] = defaultdict(lambda: defaultdict(Counter))
    spent_s: dict[str, float] = defaultdict(float)
    heard = list(recordings(options.commands, offers, options.streams))
    with TemporaryDirectory() as cache, ExactVoskEngine(model, Path(cache), pronouncer) as engine:
        for dialect, offer in offers.items():
            jsgf = offer.jsgf(True)
            engine.missing_words(offer.words())
            whole = grammar_automaton(jsgf)
            readers = {"exact grammar": partial(exact_reader, engine, jsgf)}
            for cost in WORD_COSTS:
                named = f"bigram, word cost {cost:g}"
                readers[named] = partial(bigram_reader, model, lexicon, jsgf, cost)
            for name, made in readers.items():
                read = made()
                own = [one for one in heard if one.spoken.dialect == dialect]
                read(own[0].sound)
                began = processor_s()
                found = [read(one.sound) for one in own]
                spent_s[name] += processor_s() - began
                for one, words in zip(own, found, strict=True):
                    counts[name][one.snr][outcome(words, offer, whole, one.spoken)] += 1
    text = "\n".join([*ABOUT, *table(counts, spent_s)])
    print(text)
    RESULTS.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
