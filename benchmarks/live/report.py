"""The table of the live path."""

from __future__ import annotations

from typing import Any

import numpy as np

from bayhelper.hear.capture.denoise import open_suppressor
from bayhelper.run.settings import Settings


def percentile(values: list[float], percent: float) -> float:
    return float(np.percentile(values, percent)) if values else float("nan")


def quantiles(values: list[float], unit: str, *percents: int) -> str:
    digits = 2 if unit == "s" else 1
    return ", ".join(f"p{p} {percentile(values, p):.{digits}f} {unit}" for p in percents)


def rows(found: dict[str, dict[str, Any]]) -> list[tuple[str, Any, str]]:
    """What was measured, n, and the figure."""
    lines: list[tuple[str, Any, str]] = []
    if one := found.get("own"):
        what = "prompt that is a command, half of them with the address phrase, comes back as echo"
        result = f"{len(one['taken'])} taken, {one['asked_again']} answered *say it again*"
        lines.append((what, one["prompts"], result))
    if one := found.get("after"):
        lines.append(
            ("command begins 200 ms after a prompt ends", one["n"], f"{one['right']} right")
        )
        what = "its last sample to the event on disk, the wait for more words included"
        lines.append((what, len(one["latency_s"]), quantiles(one["latency_s"], "s", 50, 95)))
    if one := found.get("over"):
        kinds = (
            ("taken", "taken"),
            ("again", "answered"),
            ("dropped", "dropped"),
            ("wrong", "wrong"),
        )
        result = ", ".join(f"{one[key]} {name}" for key, name in kinds)
        lines.append(
            (
                "command spoken over a prompt (again: answered with *say it again* or a tone)",
                one["n"],
                result,
            )
        )
    if one := found.get("read"):
        what = f"prompts recorded at the loudspeaker, read by {one['reader']}"
        size = f"{one['n']} ({one['words']} words)"
        lines.append((what, size, f"word error {100 * one['wer']:.1f} %"))
    if one := found.get("killed"):
        heard = "heard" if one["command_heard_after"] else "not heard"
        result = f"told after {one['noticed_after_s']:.1f} s, back {one['revived_after_s']:.1f} s"
        what = "microphone dies in mid-job, and is revived"
        lines.append((what, 1, f"{result} after its return; the next command was {heard}"))
    if one := found.get("memory"):
        each = ", ".join(f"{part} {mb:.0f}" for part, mb in one["mb"].items())
        what = "memory of all processes (proportional set size), after as many commands"
        lines.append((what, one["n"], f"{sum(one['mb'].values()):.0f} MB ({each})"))
    if one := found.get("alerts"):
        what = f"alert after its due time while {one['utterances_read']} utterances are read"
        late = f"{quantiles(one['late_ms'], 'ms', 50, 99)}, worst {max(one['late_ms']):.1f} ms"
        lines.append((f"{what}: handed to the loudspeaker", one["n"], late))
        heard_ms = quantiles(one["heard_ms"], "ms", 50, 99)
        lines.append(("the same: first sample of its tone", len(one["heard_ms"]), heard_ms))
        if one["behind_ms"]:
            what = "the same, when it fell due while another line sounded, which it lets end"
            behind_ms = quantiles(one["behind_ms"], "ms", 50, 99)
            lines.append((what, len(one["behind_ms"]), behind_ms))
    return lines


def written(found: dict[str, dict[str, Any]]) -> str:
    cleaner = open_suppressor(Settings().suppressor)
    suppressor = cleaner.name if cleaner else "none"
    lines = [
        "# The live path, through real sound",
        "",
        "`python -m benchmarks.live`. The loudspeaker comes back in the microphone 10 dB softer,",
        "60 ms late. Speech is synthetic (audio_fixtures), without noise; the room is PulseAudio.",
        f"The ear: {Settings().engine}; the suppressor: {suppressor}.",
        "",
        "| what | n | result |",
        "| --- | --- | --- |",
    ]
    return "\n".join([*lines, *(f"| {a} | {n} | {b} |" for a, n, b in rows(found))]) + "\n"
