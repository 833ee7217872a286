"""Make recordings of synthetic speech from a table.

Natural voices come from Kokoro-82M (28 English voices, 26 with foreign accents, and mixtures of
them, which are new speakers); eSpeak NG, flite and Festival are others. Every recording is 16 kHz
mono 16-bit FLAC, levelled, with silence at both ends.

    python -m venv .synth && .synth/bin/pip install -r training/requirements.txt
    .synth/bin/python -m training.synthesise table.csv --into folder --processes 2

The table is CSV with a header, or JSON lines (.jsonl): `say` the words, `voice` the speaker
(training/speakers.py has the notation), `speed` 0.5 to 2.0 (1.0 when missing), `out` the file to
write, relative to the folder. Files that exist are left alone, so a broken run can be taken up
again; --again makes them anew.

Speed: about real time to four times real time on one core. The int8 model rounds differently on
processors with other vector units, so recordings made elsewhere sound the same but differ in bits.
"""

from __future__ import annotations

import argparse
import csv
import json
import multiprocessing
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from training.sound_files import SILENCE_S, recording, write
from training.speakers import RecipeError, parse_speaker
from training.synthesisers import Synthesisers

DEFAULT_CACHE = Path.home() / ".cache" / "bayhelper-training"
"""Where the voices are kept unless told otherwise."""


@dataclass(frozen=True)
class Line:
    """One row of the table."""

    say: str
    """The words."""
    voice: str
    """The speaker, in the notation of training/speakers.py."""
    out: str
    """File to write, relative to the folder."""
    speed: float = 1.0
    """1.0 is the voice's own pace."""


def read_table(path: Path) -> list[Line]:
    """The rows of a CSV or JSON lines table; RecipeError names the row that is wrong."""
    with path.open(encoding="utf-8", newline="") as stream:
        rows = map(json.loads, stream) if path.suffix == ".jsonl" else csv.DictReader(stream)
        return [_line(row, f"{path.name}, row {number}") for number, row in enumerate(rows, 1)]


def _line(row: dict[str, object], where: str) -> Line:
    missing = [name for name in ("say", "voice", "out") if not row.get(name)]
    if missing:
        raise RecipeError(f"{where}: expected say, voice and out; missing {', '.join(missing)}")
    try:
        speed = float(str(row.get("speed") or 1.0))
    except ValueError:
        raise RecipeError(f"{where}: expected a number as speed, got {row['speed']!r}") from None
    if not 0.5 <= speed <= 2.0:
        raise RecipeError(f"{where}: expected a speed from 0.5 to 2.0, got {speed}")
    return Line(str(row["say"]), str(row["voice"]), str(row["out"]), speed)


def synthesise(
    lines: Sequence[Line],
    into: Path,
    synthesisers: Synthesisers,
    again: bool = False,
    silence_s: float = SILENCE_S,
) -> Iterator[tuple[Line, float]]:
    """Make each recording; yields the line and its duration in seconds (0 for one left alone)."""
    for line in lines:
        target = into / line.out
        if target.exists() and not again:
            yield line, 0.0
            continue
        speaker = parse_speaker(line.voice)
        speech = synthesisers.for_speaker(speaker).say(line.say, speaker, line.speed)
        seed = f"{line.say}|{line.voice}|{line.speed}"
        yield line, write(target, recording(speech, seed, silence_s))


def _share(lines: Sequence[Line], into: Path, cache: Path, again: bool) -> float:
    """Make these recordings; gives their duration in seconds."""
    return sum(length_s for _, length_s in synthesise(lines, into, Synthesisers(cache), again))


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("table", type=Path, help="CSV or JSON lines: say, voice, speed, out")
    read.add_argument("--into", type=Path, default=Path(), help="folder for the recordings")
    read.add_argument("--cache", type=Path, default=DEFAULT_CACHE, help="folder for the voices")
    read.add_argument("--again", action="store_true", help="make existing files anew")
    read.add_argument("--processes", type=int, default=1, help="how many share the work")
    return read


def main(argv: Sequence[str] | None = None) -> int:
    """The command line; gives the exit status."""
    options = parser().parse_args(argv)
    try:
        lines = read_table(options.table)
        shares = [lines[first :: options.processes] for first in range(options.processes)]
        work = [(share, options.into, options.cache, options.again) for share in shares]
        if options.processes == 1:
            total_s = _share(*work[0])
        else:
            with multiprocessing.get_context("spawn").Pool(options.processes) as pool:
                total_s = sum(pool.starmap(_share, work))
    except RecipeError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{len(lines)} lines, {total_s:.0f} s of new speech")
    return 0


if __name__ == "__main__":
    sys.exit(main())
