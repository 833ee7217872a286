"""Whose turn it is: the helper's own voice, and commands just after and over a prompt of it."""

from __future__ import annotations

import random
from functools import partial
from typing import Any

from bayhelper.run.clock import steady_s
from bayhelper.understand.sample import canonical
from benchmarks.live.material import ASKS, FIXTURES, PROMPTS, coating, fixtures, heard_since, meant
from benchmarks.live.rig import rig, speech

ECHO_DB = -10.0
"""How loud the loudspeaker comes back in the microphone: chosen, as of one a metre away."""


def own_voice(n: int, seed: int) -> dict[str, Any]:
    """(1) Prompts that are commands, the address phrase included, come back as an echo."""
    with rig(ECHO_DB) as one:
        coating(one)
        phrases = [words for _, words in canonical(one.offer())]  # type: ignore[arg-type]
        random.Random(seed).shuffle(phrases)
        said, taken, asked = 0, [], 0
        for at, phrase in enumerate(phrases[:n]):
            before = len(one.acts)
            text = f"Workshop copy, {phrase}." if at % 2 else f"{phrase}."
            one.say(text)
            one.quiet()
            said += 1
            for _, hearing, what in one.acts[before:]:
                if what == "again":
                    asked += 1
                elif hearing.accepted:
                    taken.append((text, hearing.text))
        heard = len(one.acts)
        return {"prompts": said, "echoes_read": heard, "taken": taken, "asked_again": asked}


def after(n: int, seed: int, delay_s: float = 0.2) -> dict[str, Any]:
    """(2a) A command begins 200 ms after a prompt has ended, with and without the address."""
    chance = random.Random(seed)
    rows = [row for row in fixtures() if row["command"] in ASKS]
    outcome, latency = [], []
    with rig(ECHO_DB) as one:
        coating(one)
        for at in range(n):
            row = rows[at % len(rows)]
            samples = speech(FIXTURES / row["file"])
            before = len(one.acts)
            _, ended_s = one.say(chance.choice(PROMPTS))
            last_s = one.feed.play(samples, ended_s + delay_s)
            one.run(6, partial(heard_since, one, before, row))
            right = [s for s, h, _ in one.acts[before:] if meant(h, row)]
            latency += [s - last_s for s in right]
            acts = [(h.text, h.why) for _, h, _ in one.acts[before:]]
            outcome.append((row["file"], bool(right), acts))
            one.quiet()
    return {"n": n, "right": sum(ok for _, ok, _ in outcome), "latency_s": latency,
            "missed": [x for x in outcome if not x[1]]}  # fmt: skip


def over(n: int, seed: int) -> dict[str, Any]:
    """(2b) A command is spoken while a prompt sounds."""
    chance = random.Random(seed)
    rows = [row for row in fixtures() if row["command"] in ASKS]
    counts = {"taken": 0, "again": 0, "dropped": 0, "wrong": 0}
    dropped = []
    with rig(ECHO_DB) as one:
        coating(one)
        for at in range(n):
            row = rows[at % len(rows)]
            samples = speech(FIXTURES / row["file"])
            before, heard_before = len(one.acts), len(one.heard)
            began_s = one.begin(chance.choice(PROMPTS))
            one.feed.play(samples, max(steady_s() + 0.1, began_s + chance.uniform(0.1, 1.5)))
            one.run(3)
            one.quiet()
            acts = one.acts[before:]
            if any(meant(h, row) for _, h, _ in acts):
                counts["taken"] += 1
                continue
            if any(h.accepted for _, h, _ in acts):
                counts["wrong"] += 1
            elif any(what == "again" or h.addressed for _, h, what in acts):
                counts["again"] += 1
                continue
            else:
                counts["dropped"] += 1
            dropped.append((row["words"], one.heard[heard_before:]))
    return {"n": n, **counts, "dropped_as": dropped}
