"""Write the trained network as a folder that Vosk reads.

    python -m training.export result/network.pt --lexicon lexicon.txt --into model

`am/final.mdl`, `conf/` and the lexicon; graphs are made from them at run time
(bayhelper/hear/engines/decoding_graph.py).
"""

from __future__ import annotations

import argparse
import gzip
from pathlib import Path

import numpy as np

from bayhelper.hear.engines.lexicon import LEXICON
from training.kaldi_model import write_model

PRIOR_POWER = 0.7
"""How much of the outputs' frequency is taken off: a network says blank most of the time. How it
was chosen was not kept."""
RAREST = 1e-4
"""Least frequency of an output: one that was hardly ever told is not preferred for it. Chosen, not
measured."""


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("network", type=Path)
    read.add_argument("--lexicon", type=Path, required=True)
    read.add_argument("--into", type=Path, required=True)
    read.add_argument("--bytes", type=int, choices=(1, 2, 4), default=1, help="to a weight")
    return read


def main() -> int:
    from training.acoustics import folded, trained  # noqa: PLC0415 (heavy)

    options = parser().parse_args()
    network, told = trained(options.network)
    priors = np.maximum(told, RAREST) ** PRIOR_POWER
    write_model(options.into, folded(network), priors, weight_bytes=options.bytes)
    words = options.lexicon.read_bytes()
    (options.into / LEXICON).write_bytes(gzip.compress(words, mtime=0))
    size = (options.into / "am/final.mdl").stat().st_size
    print(f"{size / 1e6:.1f} MB of network, {len(words.splitlines())} pronunciations")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
