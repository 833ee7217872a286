"""How long an answer to 'may I start another panel?' takes, beside trying every order.

    python -m benchmarks.lookahead [--cases N] [--seed S]

Random bays: open panels with windows as on a humid day, one or two people, one more panel asked
for. The look-ahead and the baseline answer the same question, whether all fits with the new panel
begun now, in the same run, and must agree. The soonest start is asked for as well, which the
baseline would take too long for. Milliseconds of processor time; the machine is noisy.
"""

from __future__ import annotations

import argparse
import random
from itertools import permutations, product
from pathlib import Path

import numpy as np

from bayhelper.reckon.lookahead import Laying, Task, schedule, start_in_s
from bayhelper.run.clock import processor_s

RESULTS = Path(__file__).parent / "results" / "lookahead.md"
"""The table that is kept."""
SIDES = ("left", "right", "")
"""Where a panel may lie; in the middle it is reached from both sides."""
ACROSS_S = 10.0
"""A walk to the other side of the car: chosen."""
BASELINE_MOST = 5
"""With more open panels every order of two people takes minutes."""
Bay = tuple[Laying, list[Task], tuple[float, ...]]


def bay(rng: random.Random, panels: int, people: int) -> Bay:
    """Panels laid one after the other, each with a window of its own, and one more."""
    tasks = []
    for number in range(panels):
        opens_s = rng.uniform(-30, 60) + 75 * number / people
        takes_s = tuple(rng.uniform(30, 80) for _ in range(people))
        closes_s = opens_s + rng.uniform(40, 200)
        side = rng.choice(SIDES)
        tasks.append(Task(f"panel {number}", opens_s, closes_s, takes_s, side=side))
    takes_s = tuple(rng.uniform(30, 80) for _ in range(people))
    laying = Laying(
        "next",
        rng.randrange(people),
        rng.uniform(40, 150),
        110.0,
        420.0,
        takes_s,
        rng.choice(SIDES),
    )
    return laying, tasks, tuple(rng.uniform(0, 20) for _ in range(people))


def every_order(tasks: list[Task], free_s: tuple[float, ...], across_s: float) -> bool:
    """The baseline: each order and each choice of people."""
    for order in permutations(tasks):
        people = [range(len(free_s)) if task.who is None else (task.who,) for task in order]
        for chosen in product(*people):
            free, sides = list(free_s), [""] * len(free_s)
            for task, who in zip(order, chosen, strict=True):
                walks = task.side and sides[who] and task.side != sides[who]
                start_s = max(free[who] + across_s * bool(walks), task.opens_s)
                free[who], sides[who] = start_s + task.takes_s[who], task.side
                if start_s > task.closes_s:
                    break
            else:
                return True
    return False


def measured(panels: int, people: int, cases: int, rng: random.Random) -> str:
    exact_ms: list[float] = []
    soonest_ms: list[float] = []
    plain_ms: list[float] = []
    fitted = disagreed = 0
    for _ in range(cases):
        laying, tasks, free_s = bay(rng, panels, people)
        at_s = free_s[laying.who]
        whole = [*tasks, *laying.tasks(at_s)]
        began = processor_s()
        fits = schedule(whole, free_s, ACROSS_S) is not None
        exact_ms.append(1000 * (processor_s() - began))
        fitted += fits
        began = processor_s()
        start_in_s(laying, tasks, free_s, ACROSS_S)
        soonest_ms.append(1000 * (processor_s() - began))
        if panels <= BASELINE_MOST and len(plain_ms) < 20:
            began = processor_s()
            disagreed += every_order(whole, free_s, ACROSS_S) != fits
            plain_ms.append(1000 * (processor_s() - began))
    plain = f"{np.mean(plain_ms):.1f}" if plain_ms else "-"
    ratio = f"{np.mean(plain_ms) / np.mean(exact_ms[: len(plain_ms)]):.0f}" if plain_ms else "-"
    cells = [str(people), str(panels), str(cases), f"{100 * fitted / cases:.0f} %"]
    cells += [f"{np.median(exact_ms):.2f}", f"{np.percentile(exact_ms, 99):.2f}"]
    cells += [f"{np.median(soonest_ms):.1f}", f"{np.percentile(soonest_ms, 99):.1f}"]
    return f"| {' | '.join([*cells, plain, ratio, str(disagreed)])} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    text = [
        "# One more panel? The time an answer takes",
        "",
        "`python -m benchmarks.lookahead`: random bays, milliseconds of processor time. Baseline:",
        "every order and every choice of people, on the first 20 cases.",
        "",
        "| people | open | n | fits now | now, p50 | p99 | soonest, p50 | p99 | baseline, mean "
        "| ratio | disagree |",
        "| --- |" + " --- |" * 10,
    ]
    text += [
        measured(panels, people, options.cases, rng) for people in (1, 2) for panels in (2, 4, 5, 6)
    ]
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text("\n".join(text) + "\n", encoding="utf-8")
    print(RESULTS.read_text(encoding="utf-8"))


if __name__ == "__main__":
    main()
