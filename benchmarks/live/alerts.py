"""How late an alert comes while somebody talks without a pause and all of it is read."""

from __future__ import annotations

import random
from datetime import timedelta
from typing import Any

from bayhelper.run.clock import steady_s
from bayhelper.speak.speaker_reports import Began, Ended
from bayhelper.terms.effects import Tone
from benchmarks.live.material import ASKS, FIXTURES, coating, fixtures
from benchmarks.live.rig import Rig, rig, speech


def alerts(n: int, seed: int) -> dict[str, Any]:
    """(5) Deadlines fall due while somebody talks without a pause and all of it is read."""
    chance = random.Random(seed)
    late_ms: list[float] = []
    heard_ms: list[float] = []
    behind_ms: list[float] = []
    with rig(None) as one:
        coating(one)
        live = one.live
        bay = live.bay
        files = sorted((FIXTURES / "other_talk").glob("*.flac")) + [
            FIXTURES / row["file"] for row in fixtures() if row["command"] in ASKS
        ]
        clock = live.clock
        end_s = steady_s() + 0.7
        due = {"utc": clock.now_utc() + timedelta(seconds=2)}
        numbers: dict[int, float] = {}
        next_due, pass_time = bay.next_due_utc, bay.pass_time

        def earliest() -> Any:
            real = next_due()
            return min(real, due["utc"]) if real else due["utc"]

        def passing(now_utc: Any) -> None:
            pass_time(now_utc)
            if now_utc >= due["utc"]:
                at = clock.now_utc()
                late_ms.append((at - due["utc"]).total_seconds() * 1000)
                live.mouth.tone(at, Tone("soft"))
                numbers[live.mouth._count] = steady_s() - late_ms[-1] / 1000
                due["utc"] = at + timedelta(seconds=chance.uniform(0.4, 0.9))

        bay.next_due_utc, bay.pass_time = earliest, passing  # type: ignore[method-assign]
        read_before = len(one.heard)
        while len(late_ms) < n:
            if end_s - steady_s() < 3:
                samples = speech(chance.choice(files))
                end_s = one.feed.play(samples, max(steady_s() + 0.05, end_s + 0.9))
            one.run(0.2)
        spans = sounding(one)
        for report in one.reports:
            if isinstance(report, Began) and report.number in numbers:
                due_s = numbers[report.number]
                waits = any(
                    began_s - 0.1 < due_s < ended_s + 0.1
                    for number, (began_s, ended_s) in spans.items()
                    if number != report.number
                )
                (behind_ms if waits else heard_ms).append((report.at_s - due_s) * 1000)
        return {
            "n": len(late_ms),
            "late_ms": late_ms,
            "heard_ms": heard_ms,
            "behind_ms": behind_ms,
            "utterances_read": len(one.heard) - read_before,
        }


def sounding(one: Rig) -> dict[int, tuple[float, float]]:
    """When each line sounded, steady seconds."""
    began = {r.number: r.at_s for r in one.reports if isinstance(r, Began)}
    ended = {r.number: r.at_s for r in one.reports if isinstance(r, Ended)}
    return {n: (at_s, ended.get(n, at_s)) for n, at_s in began.items()}
