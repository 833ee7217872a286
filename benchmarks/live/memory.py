"""What all processes of the helper take of the memory."""

from __future__ import annotations

import os
import subprocess
from functools import partial
from pathlib import Path
from typing import Any

from bayhelper.run.clock import steady_s
from benchmarks.live.material import ASKS, FIXTURES, coating, fixtures, heard_since
from benchmarks.live.rig import rig, speech


def memory(n: int) -> dict[str, Any]:
    """What all processes of the helper take after so many commands: their proportional set size."""
    rows = [row for row in fixtures() if row["command"] in ASKS]
    with rig(None) as one:
        coating(one)
        for at in range(n):
            before = len(one.acts)
            row = rows[at % len(rows)]
            one.feed.play(speech(FIXTURES / row["file"]), steady_s() + 0.1)
            one.run(8, partial(heard_since, one, before, row))
            one.quiet()
        sizes = {
            "bay": resident_mb(os.getpid()),
            **{part: resident_mb(pid) for part, pid in one.pids.items()},
        }
        known = {os.getpid(), *one.pids.values()}
        rest = [pid for pid in descendants(os.getpid()) if pid not in known and is_ours(pid)]
        sizes["free reading, voice"] = sum(map(resident_mb, rest))
    return {"n": n, "mb": sizes}


def descendants(pid: int) -> list[int]:
    command = ["ps", "-o", "pid=", "--ppid", str(pid)]
    listed = subprocess.run(command, check=False, capture_output=True, text=True)
    children = [int(word) for word in listed.stdout.split()]
    return [*children, *(below for child in children for below in descendants(child))]


def is_ours(pid: int) -> bool:
    """Whether it is Python, and not PulseAudio or its feeds."""
    try:
        return "python" in Path(f"/proc/{pid}/exe").readlink().name
    except OSError:
        return False


def resident_mb(pid: int) -> float:
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    return sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024
