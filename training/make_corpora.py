"""Make the corpora that the ear is tuned and reported on; they are made, never committed.

    python -m training.make_corpora address  --into /tmp/corpora
    python -m training.make_corpora talk     --into /tmp/corpora --passes 2
    python -m training.make_corpora commands --into /tmp/corpora --phrases phrases.jsonl --each 60

Each corpus is a folder of FLAC files and `index.jsonl`, one line a file: `file`, `say`, `speaker`,
`voice`, `half` ('tune' or 'report'), `length_s`, and for commands `command`, `slots`, `dialect`,
for talk `text` (the file it comes from). The halves share no voice, and of talk no sentence.

`phrases.jsonl` has `say`, `command`, `slots` and optionally `dialect`, as `bayhelper phrases
--sample N --seed S --json` prints; speakers say the phrases of their own dialect.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from training.speakers import REPORT, TUNE, RecipeError, parse_speaker
from training.synthesise import DEFAULT_CACHE, Line, synthesise
from training.synthesisers import Synthesisers

TALK = Path(__file__).parent.parent / "benchmarks" / "other_talk"
"""Texts of talk that is not for the helper."""
CANDIDATES = Path(__file__).parent / "address_candidates.txt"
"""Phrases that might address the helper, one a line."""
HALVES = {"tune": TUNE, "report": REPORT}
"""Speakers of each half."""


@dataclass(frozen=True)
class Item:
    """One recording to make."""

    line: Line
    """What the synthesiser is told."""
    half: str
    """'tune' or 'report'."""
    speaker: str
    """Short name of the speaker in its half."""
    more: dict[str, object] = field(default_factory=dict)
    """What else the index says about it."""


def texts(folder: Path) -> list[tuple[str, str]]:
    """(file name, sentence) of every text in the folder."""
    found = [row for path in sorted(folder.glob("*.txt")) for row in texts_of(path)]
    if not found:
        raise RecipeError(f"expected texts *.txt in {folder}, found none: name the right folder")
    return found


def texts_of(path: Path) -> list[tuple[str, str]]:
    """(file name, line) of one list; lines that begin with # are comments."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [(path.name, row.strip()) for row in lines if row.strip() and not row.startswith("#")]


def talk_items(passes: int, seed: int) -> list[Item]:
    """Every sentence once a pass, its half fixed by its place, each time by another speaker."""
    rng = random.Random(seed)
    items: list[Item] = []
    for number in range(passes):
        sentences = list(enumerate(texts(TALK)))
        rng.shuffle(sentences)
        for index, (text, say) in sentences:
            half = "tune" if index % 2 == 0 else "report"
            voice = _talker(HALVES[half], rng)
            out = f"{half}/{number}_{index:03d}.flac"
            line = Line(say, voice, out, round(rng.uniform(0.9, 1.3), 2))
            items.append(Item(line, half, voice, {"text": text}))
    return items


def _talker(roster: dict[str, str], rng: random.Random) -> str:
    """A member of the half, or a mixture of any two voices that belong to it."""
    if rng.random() < 0.4:
        return rng.choice(sorted(roster.values()))
    voices = sorted({name for voice in roster.values() for name, _ in parse_speaker(voice).parts})
    first, second = rng.sample(voices, 2)
    weight = round(rng.uniform(0.3, 0.7), 2)
    return f"kokoro:{first}*{weight}+{second}*{round(1 - weight, 2)}"


def address_items(candidates: Sequence[str]) -> list[Item]:
    """Every candidate once, alone, by every speaker of both halves."""
    return [
        Item(Line(say, voice, f"{half}/{_slug(say)}_{name}.flac", 1.1), half, name)
        for half, roster in HALVES.items()
        for name, voice in roster.items()
        for say in candidates
    ]


def command_items(phrases: Sequence[dict[str, object]], each: int, seed: int) -> list[Item]:
    """`each` phrases for every speaker, all commands covered before one is repeated."""
    rng = random.Random(seed)
    items: list[Item] = []
    for half, roster in HALVES.items():
        for name, voice in roster.items():
            dialect = parse_speaker(voice).dialect
            fitting = [p for p in phrases if p.get("dialect", dialect) == dialect]
            for number, phrase in enumerate(_spread(fitting, each, rng)):
                say, speed = str(phrase["say"]), round(rng.uniform(0.95, 1.3), 2)
                more = {"command": phrase["command"], "slots": phrase["slots"], "dialect": dialect}
                line = Line(say, voice, f"{half}/{name}_{number:03d}.flac", speed)
                items.append(Item(line, half, name, more))
    rng.shuffle(items)
    return items


def _spread(
    phrases: Sequence[dict[str, object]], count: int, rng: random.Random
) -> list[dict[str, object]]:
    by_command: dict[str, list[dict[str, object]]] = {}
    for phrase in rng.sample(phrases, len(phrases)):
        by_command.setdefault(str(phrase["command"]), []).append(phrase)
    rounds = max((len(group) for group in by_command.values()), default=0)
    order = [g[n] for n in range(rounds) for g in by_command.values() if n < len(g)]
    return order[:count]


def make(items: Sequence[Item], folder: Path, synthesisers: Synthesisers) -> float:
    """Make what is missing and write a line into the index for each; gives the seconds made."""
    folder.mkdir(parents=True, exist_ok=True)
    total_s = 0.0
    by_out = {item.line.out: item for item in items}
    with (folder / "index.jsonl").open("a", encoding="utf-8") as index:
        for line, length_s in _made(items, folder, synthesisers):
            item = by_out[line.out]
            if length_s:
                row = {"file": line.out, "say": line.say, "speaker": item.speaker}
                row |= {"voice": line.voice, "half": item.half, **item.more}  # type: ignore[dict-item]
                index.write(json.dumps(row | {"length_s": round(length_s, 3)}) + "\n")
                index.flush()
                total_s += length_s
    return total_s


def _made(
    items: Sequence[Item], folder: Path, synthesisers: Synthesisers
) -> Iterator[tuple[Line, float]]:
    return synthesise([item.line for item in items], folder, synthesisers)


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")


def main(argv: Sequence[str] | None = None) -> int:
    """The command line; gives the exit status."""
    parser = argparse.ArgumentParser(description="Make the corpora for tuning the ear")
    parser.add_argument("corpus", choices=("address", "talk", "commands"))
    parser.add_argument("--into", type=Path, required=True, help="folder of the corpora")
    parser.add_argument("--cache", type=Path, default=DEFAULT_CACHE, help="folder for the voices")
    parser.add_argument("--phrases", type=Path, help="commands: JSON lines of say, command, slots")
    parser.add_argument("--each", type=int, default=60, help="commands: phrases a speaker")
    parser.add_argument("--passes", type=int, default=1, help="talk: times each sentence is said")
    parser.add_argument("--candidates", nargs="*", help="address: other phrases than the list")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(argv)
    try:
        if options.corpus == "address":
            listed = [say for _, say in texts_of(CANDIDATES)]
            items = address_items(options.candidates or listed)
        elif options.corpus == "talk":
            items = talk_items(options.passes, options.seed)
        elif options.phrases is None:
            raise RecipeError("commands: expected --phrases FILE, got none: sample first")
        else:
            rows = [json.loads(row) for row in options.phrases.read_text("utf-8").splitlines()]
            items = command_items(rows, options.each, options.seed)
        total_s = make(items, options.into / options.corpus, Synthesisers(options.cache))
    except RecipeError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{options.corpus}: {len(items)} recordings, {total_s:.0f} s new")
    return 0


if __name__ == "__main__":
    sys.exit(main())
