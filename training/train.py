"""Train the acoustic model on packed speech, on one GPU; may go on where an earlier run stopped.

    python -m training.train packed/one packed/two --judge packed/held-out --steps 18200 \
        --from 0 --to 0.5 --state state.pt --into result

Most of every batch is spoilt here (training/augment.py), the rest comes from the suppressor
(training/spoiling.py), which processors run meanwhile. A run ends after so many --steps or so many
--minutes; `--from` and `--to` say which part of the whole course it is, so that several short ones
make a long one. The weights are averaged exponentially; `result/network.pt` holds the average and
the priors, and `--judge` prints its phone errors on speech of speakers that are not trained on.
"""

from __future__ import annotations

import argparse
import os
import time
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

from training.packing import Said, unpack
from training.sound_files import RATE_HZ

if TYPE_CHECKING:
    from torch import Tensor

    from training.batches import Batches
    from training.course import Course
    from training.spoiling import Spoilers

PEAK_RATE = 2.5e-3
"""Of learning, in a course from nothing: chosen, not measured."""
LONGEST_S = 12.0
"""Longer recordings are left out, so that batches stay alike in length: chosen."""
STEPS_A_FETCH = 10
"""Steps between two looks at what the suppressor has done: chosen, as looking takes time."""
TOLD_EVERY_S = 20.0
"""Seconds between two lines about the loss: chosen."""


def train(
    course: Course, batches: Batches, spoilers: Spoilers | None, options: argparse.Namespace
) -> None:
    """Until the steps are made, or the time is over."""
    import torch  # noqa: PLC0415 (heavy)

    began_s = told_s = time.monotonic()
    first = course.step
    losses: list[Tensor] = []

    def passed() -> float:
        if options.steps is not None:
            return float((course.step - first) / options.steps)
        return float((time.monotonic() - began_s) / 60 / options.minutes)

    while (part := passed()) < 1:
        if spoilers is not None and course.step % STEPS_A_FETCH == 0:
            batches.cleaned.put(spoilers.fetch())
        done = options.start + part * (options.to - options.start)
        losses.append(course.learn(batches.one(), done))
        if time.monotonic() - told_s > TOLD_EVERY_S:
            told_s = time.monotonic()
            loss = float(torch.stack(losses).mean())
            ready = int((batches.cleaned.lengths > 0).sum())
            print(
                f"step {course.step}, {100 * part:.0f} %, loss {loss:.3f}, {ready} cleaned",
                flush=True,
            )
            losses = []


def recordings(packs: list[Path]) -> list[Said]:
    """Those of all packs that are not too long, the shortest first."""
    said = [one for pack in packs for one in unpack(pack)]
    kept = [one for one in said if len(one.samples) < LONGEST_S * RATE_HZ]
    return sorted(kept, key=lambda one: len(one.samples))


def run(options: argparse.Namespace) -> None:
    """One run of a course; writes its state and its result."""
    import torch  # noqa: PLC0415 (heavy, and not needed to read the command line)

    from training.acoustics import Shape  # noqa: PLC0415
    from training.augment import Shop  # noqa: PLC0415
    from training.batches import Batches, Store  # noqa: PLC0415
    from training.course import Course  # noqa: PLC0415
    from training.spoiling import SNR_DB, Spoilers  # noqa: PLC0415

    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(options.seed)
    said = recordings(options.packs)
    snr_db = SNR_DB if options.snr_db is None else (options.snr_db[0], options.snr_db[1])
    spoilers = None
    if options.processes:
        sounds = [one.samples for one in said]
        spoilers = Spoilers(sounds, options.processes, options.seed, snr_db)
    store = Store(said, device)
    hours = store.lengths.sum() / RATE_HZ / 3600
    print(f"{len(said)} recordings, {hours:.2f} h, on {device}", flush=True)
    batches = Batches(store, Shop(device, options.seed), device, options.seed, snr_db)
    sizes = {"width": options.width, "narrow": options.narrow}
    shape = replace(Shape(), **{name: size for name, size in sizes.items() if size is not None})
    if options.blocks is not None:
        shape = replace(shape, reach=Shape().reach[:1] * options.blocks)
    course = Course(shape, device, varied=not options.unvaried, peak_rate=options.rate)
    if options.start > 0:
        course.load(options.state)
    elif options.begin is not None:
        course.begin(options.begin)
    else:
        course.measure(batches)
    train(course, batches, spoilers, options)
    course.save(options.state)
    result = {
        "shape": asdict(course.network.shape),
        "weights": course.average.state_dict(),
        "priors": course.priors(batches),
    }
    if spoilers is not None:
        spoilers.close()
    options.into.mkdir(parents=True, exist_ok=True)
    torch.save(result, options.into / "network.pt")
    for pack in options.judge:
        print(f"{pack.name}: {100 * course.errors(list(unpack(pack))):.1f} % of phones wrong")


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("packs", type=Path, nargs="+")
    read.add_argument("--judge", type=Path, action="append", default=[])
    length = read.add_mutually_exclusive_group(required=True)
    length.add_argument("--steps", type=int, help="steps of this run")
    length.add_argument("--minutes", type=float, help="or its time, start and end not counted")
    read.add_argument("--from", dest="start", type=float, default=0.0)
    read.add_argument("--to", type=float, default=1.0)
    read.add_argument("--begin", type=Path, help="a network to begin with, of the same shape")
    read.add_argument("--rate", type=float, default=PEAK_RATE, help="of learning, at its highest")
    read.add_argument(
        "--snr-db", type=float, nargs=2, metavar=("LOW", "HIGH"), help="of the noise, if not usual"
    )
    read.add_argument("--state", type=Path, required=True)
    read.add_argument("--into", type=Path, required=True)
    read.add_argument("--width", type=int, help="outputs of each block")
    read.add_argument("--narrow", type=int, help="outputs of the linear layer in each block")
    read.add_argument("--blocks", type=int)
    read.add_argument("--processes", type=int, default=max(1, (os.cpu_count() or 2) - 3))
    read.add_argument("--unvaried", action="store_true", help="leave throats and rhythm alone")
    read.add_argument("--seed", type=int, default=1)
    return read


def main() -> int:
    run(parser().parse_args())
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
