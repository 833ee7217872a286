"""The live path, measured in a bay without hardware: real sound both ways, through PulseAudio.

Run from the top of the source tree, on a machine that does nothing else:

    python -m benchmarks.live                       all of it, about ten minutes
    python -m benchmarks.live --only over --n 10    one part
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from benchmarks.live.alerts import alerts
from benchmarks.live.clarity import read_back
from benchmarks.live.lost_microphone import killed
from benchmarks.live.memory import memory
from benchmarks.live.report import written
from benchmarks.live.turns import after, over, own_voice

RESULTS = Path(__file__).parents[1] / "results" / "live.md"
"""The table that is kept."""
PARTS: dict[str, Callable[[argparse.Namespace], dict[str, Any]]] = {
    "own": lambda o: own_voice(o.n or 12, o.seed),
    "after": lambda o: after(o.n or 12, o.seed),
    "over": lambda o: over(o.n or 12, o.seed),
    "read": lambda o: read_back(o.n or 6),
    "killed": lambda o: killed(),
    "alerts": lambda o: alerts(o.n or 100, o.seed),
    "memory": lambda o: memory(o.n or 6),
}
"""What is measured, by the name of the part, as often as asked for or else so."""


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--only", action="append", choices=list(PARTS))
    options.add_argument("--n", type=int, default=0)
    options.add_argument("--seed", type=int, default=7)
    options.add_argument("--json", type=Path)
    chosen = options.parse_args()
    found = {}
    for name in chosen.only or PARTS:
        found[name] = PARTS[name](chosen)
        print(json.dumps({name: found[name]}, default=str), flush=True)
    if chosen.json:
        chosen.json.write_text(json.dumps(found, default=str, indent=1) + "\n")
    if not chosen.only:
        RESULTS.write_text(written(found), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
