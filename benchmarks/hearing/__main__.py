"""How much of what is said in the bay is heard, and how much that was not said.

    python -m benchmarks.hearing COMMANDS TALK [TALK ...] --cache FOLDER [--seconds S] [--part K/N]

COMMANDS is a corpus of training/make_corpora.py (only its reporting half is used); TALK holds
recordings that radio and people in the noise are made of. What was done is kept in the cache, so
that the run can be cut off and taken up, and N processes can share the work; when nothing is left
to do, or after S seconds, table, JSON and picture are written to benchmarks/results/. Order
recordings and the kitchen's noise are used when BAYHELPER_ORDERS names their folder.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import time
from contextlib import ExitStack
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope, open_engine
from bayhelper.run.settings import Settings
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Engine
from benchmarks.hearing.chains import FRONTS, EngineName, LiveChain
from benchmarks.hearing.material import (
    ORDERS,
    OTHER_MAKE,
    PIPER,
    Spoken,
    held_out,
    order_offer,
    orders,
    other_make,
)
from benchmarks.hearing.noises import CLEAN_DB, all_noises
from benchmarks.hearing.report import write_results
from benchmarks.hearing.streams import build, hear, score

STREAM = 12
"""Recordings in one stream."""
LEVELS = {"clean": CLEAN_DB, "20": 20.0, "15": 15.0, "10": 10.0, "5": 5.0, "0": 0.0}
"""Speech above noise, decibels, by name: a bay from idle to loud, chosen."""
VOICES = ("mask", "effort", "headset")
"""Ways to speak that are tried beside plain ones (noises.through)."""
MAKES = ("piper", "other", "person")
"""Speakers that are tried beside those of Kokoro."""
DIALECT = {"piper": "us", "person": ORDERS}
"""Of those who speak only one."""
NOISES = ("polisher", "compressor", "extractor", "water", "radio", "two talkers", "kitchen")
"""What is heard behind the speech (noises.all_noises)."""


@dataclass(frozen=True)
class Cell:
    """One condition of the table."""

    front: str
    """Key of chains.FRONTS."""
    snr: str
    """Key of LEVELS."""
    voice: str = "plain"
    """See noises.through."""
    make: str = "kokoro"
    """Which synthesiser speaks, see material.Spoken."""


def plan(fronts: list[str]) -> list[tuple[Cell, int]]:
    """Which streams to hear, in that order: the first front far more than all others.

    A round has as many streams as there are noises, one in each; the first front's 18 rounds are
    1,512 recordings at 10 and at 5 dB, and half as many at clean.
    """
    cells: list[tuple[Cell, int]] = []
    for number in range(18):
        levels = ("10", "5", "clean") if number < 9 else ("10", "5")
        cells += _round(number, [Cell(fronts[0], snr) for snr in levels])
        if number == 2:
            cells += _others(fronts)
    return cells


def _others(fronts: list[str]) -> list[tuple[Cell, int]]:
    """A round of each other front, level, voice and make."""
    first = fronts[0]
    return [
        *_round(0, [Cell(f, snr) for f in fronts[1:4] for snr in ("10", "5", "clean")]),
        *_round(0, [Cell(front, "10") for front in fronts[4:]]),
        *_round(1, [Cell(first, snr) for snr in ("15", "20", "0")]),
        *_round(2, [Cell(first, "10", voice) for voice in VOICES]),
        *_round(2, [Cell(first, "10", make=make) for make in MAKES]),
        *_round(3, [Cell(first, snr, make="person") for snr in ("clean", "5")]),
    ]


def _round(number: int, cells: list[Cell]) -> list[tuple[Cell, int]]:
    first = number * len(NOISES)
    return [(cell, stream) for stream in range(first, first + len(NOISES)) for cell in cells]


class Cache:
    """Rows that are done, by cell and stream; one JSON line each. Each part writes its own file."""

    def __init__(self, folder: Path, part: int) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._file = folder / f"rows{part}.jsonl"
        files = sorted(folder.glob("rows*.jsonl"))
        lines = [line for f in files for line in f.read_text(encoding="utf-8").splitlines()]
        self.done = [json.loads(line) for line in lines]
        self._keys = {(json.dumps(one["cell"]), one["stream"]) for one in self.done}

    def has(self, cell: Cell, stream: int) -> bool:
        """Whether it was heard before."""
        return (json.dumps(asdict(cell)), stream) in self._keys

    def add(self, entry: dict[str, object]) -> None:
        """Keep a stream's rows at once."""
        self.done.append(entry)
        with self._file.open("a", encoding="utf-8") as out:
            out.write(json.dumps(entry) + "\n")


class Bench:
    """Everything that is made once."""

    def __init__(self, options: argparse.Namespace, stack: ExitStack) -> None:
        library = build_library()
        self.offers = {
            dialect: library.offer(build_scope(Settings(dialect=dialect)))
            for dialect in ("uk", "us")
        }
        self.seed = options.seed
        own = held_out(options.commands, self.offers)
        made = options.cache / "other_make"
        other = list(other_make(own, "other", OTHER_MAKE, made, options.seed))
        piper = list(other_make(own, "piper", PIPER, made, options.seed))
        self.said = {"kokoro": own, "other": other, "piper": piper}
        kitchen = None
        if folder := os.environ.get("BAYHELPER_ORDERS"):
            kitchen = Path(folder) / "noise_kitchen.flac"
            self.said["person"] = orders(Path(folder))
            self.offers[ORDERS] = order_offer(Path(folder))
        talk = sorted(file for folder in options.talk for file in folder.rglob("report/*.flac"))
        self.noises = all_noises(talk, kitchen, options.seed)
        self._stack = stack
        self._engines: dict[str, Engine] = {}

    def engine(self, name: EngineName) -> Engine:
        """Opened when it is first asked for."""
        if name not in self._engines:
            opened = open_engine(Settings(engine=name))
            self._engines[name] = self._stack.enter_context(opened)
        return self._engines[name]

    def stream(self, cell: Cell, number: int) -> dict[str, object]:
        """Hear one stream of a cell; all fronts hear the same ones."""
        dialect = DIALECT.get(cell.make) or ("uk" if number % 2 == 0 else "us")
        said = [one for one in self.said[cell.make] if one.dialect == dialect]
        order = np.random.default_rng([self.seed, number // 2 // max(1, len(said) // STREAM)])
        order_of = order.permutation(len(said))
        first = (number // 2) % max(1, len(said) // STREAM) * STREAM
        chosen: list[Spoken] = [said[int(i)] for i in order_of[first : first + STREAM]]
        names = [name for name in NOISES if name in self.noises]
        noise = names[number % len(names)]
        stream = build(chosen, self.noises[noise], LEVELS[cell.snr], cell.voice, number)
        began = processor_s()
        front = FRONTS[cell.front]
        chain = LiveChain(front, self.engine(front.engine), self.offers[dialect])
        rows, strays = score(stream, hear(stream, chain))
        return {
            "cell": asdict(cell),
            "stream": number,
            "noise": noise,
            "length_s": len(stream.pcm) / 32_000,
            "compute_s": processor_s() - began,
            "strays": strays,
            "memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
            "rows": [asdict(row) for row in rows],
        }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("commands", type=Path)
    parser.add_argument("talk", type=Path, nargs="+")
    parser.add_argument("--cache", type=Path, required=True, help="folder for what was done")
    parser.add_argument("--part", default="0/1", help="K/N: only every Nth stream, from the Kth")
    parser.add_argument("--seconds", type=float, default=600.0, help="how long to go on")
    parser.add_argument("--fronts", nargs="+", choices=FRONTS, default=list(FRONTS))
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    part, parts = map(int, options.part.split("/"))
    cache = Cache(options.cache, part)
    until = time.monotonic() + options.seconds
    with ExitStack() as stack:
        bench = Bench(options, stack)
        for cell, number in plan(options.fronts)[part::parts]:
            if cache.has(cell, number):
                continue
            if time.monotonic() > until:
                break
            if not bench.said.get(cell.make):
                continue
            try:
                cache.add(bench.stream(cell, number))
            except (ImportError, HearingError) as error:
                print(f"{cell.front} left out: {error}")
    write_results(cache.done, options.cache)


if __name__ == "__main__":
    main()
