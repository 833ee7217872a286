"""A microphone that dies in the middle of a job, and comes back."""

from __future__ import annotations

from typing import Any

from bayhelper.run.clock import steady_s
from bayhelper.speak.speaker_reports import Began
from benchmarks.live.material import FIXTURES, coating, fixtures, meant
from benchmarks.live.rig import MicFeed, rig, speech
from benchmarks.live.turns import ECHO_DB


def killed() -> dict[str, Any]:
    """(4) The microphone dies in the middle of a job, and comes back."""
    row = next(row for row in fixtures() if row["command"] == "ask_where")
    with rig(ECHO_DB) as one:
        coating(one)
        one.feed.close()
        pulled_s = steady_s()
        one.bay.silence(True)
        one.run(20, lambda: any("mic" in name and not alive for _, name, alive in one.parts))
        noticed = [s for s, name, alive in one.parts if "mic" in name and not alive]
        one.run(6)
        back_s = steady_s()
        one.bay.silence(False)
        one.run(
            30, lambda: any("mic" in name and alive for s, name, alive in one.parts if s > back_s)
        )
        revived = [s for s, name, alive in one.parts if "mic" in name and alive and s > back_s]
        one.quiet()
        one.feed = MicFeed(one.bay)
        before = len(one.acts)
        one.feed.play(speech(FIXTURES / row["file"]), steady_s() + 0.5)
        heard = one.run(10, lambda: any(meant(h, row) for _, h, _ in one.acts[before:]))
        return {
            "noticed_after_s": noticed[0] - pulled_s if noticed else None,
            "revived_after_s": revived[0] - back_s if revived else None,
            "command_heard_after": heard,
            "said": [r.text for r in one.reports if isinstance(r, Began) and "hear" in r.text],
        }
