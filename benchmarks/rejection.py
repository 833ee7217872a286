"""Where should the ear draw its line? Commands against hours of other talk, at every margin.

    python benchmarks/rejection.py COMMANDS TALK [TALK ...] [--every N]

COMMANDS is a folder of recordings with an index.jsonl (file, command, slots, half); each TALK is a
folder of recordings of speech that is not for the helper (half tune or report from its index, or
by turns). Talk goes through the end-pointer, as in the bay. The margin is chosen on the tuning half
(fewest missed commands at which no talk of that half is taken) and reported on the other half, with
the 95 % Poisson bound. Writes benchmarks/results/rejection.md.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

from bayhelper.hear.accept import DEFAULT_POINT, Ear
from bayhelper.hear.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.pronounce import Pronouncer
from bayhelper.hear.recording import recording_length_s, recording_utterances, whole_recording
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.terms.utterance import Hearing

RESULTS = Path(__file__).parent / "results"
POISSON_95 = (3.0, 4.74, 6.3, 7.75, 9.15, 10.51, 11.84, 13.15, 14.43, 15.71)
"""Upper 95 % bound of a Poisson mean after 0, 1, 2 ... events (from memory of the usual table)."""


@dataclass(frozen=True)
class Row:
    """What one recording came to."""

    half: str
    right: bool
    margin: float
    addressed: bool
    accepted: bool
    text: str


def index(folder: Path) -> dict[str, dict[str, object]]:
    file = folder / "index.jsonl"
    if not file.exists():
        return {}
    rows = [json.loads(line) for line in file.read_text().splitlines()]
    return {str(row["file"]): row for row in rows}


def row_of(half: str, right: bool, hearing: Hearing) -> Row:
    evidence = hearing.evidence
    margin = evidence.margin_per_frame if evidence else float("-inf")
    near = hearing.command is not None and (evidence is None or evidence.edits <= 0.6)
    return Row(half, right, margin, hearing.addressed and near, hearing.accepted, hearing.text)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("commands", type=Path)
    parser.add_argument("talk", type=Path, nargs="+")
    parser.add_argument("--every", type=int, default=1, help="take one command in so many")
    options = parser.parse_args()
    offer = build_library().offer(build_scope(Settings()))
    engine = PocketSphinxEngine(Pronouncer())
    ear = Ear(engine, processor_s)
    least = DEFAULT_POINT.address_score
    commands = []
    for name, entry in list(index(options.commands).items())[:: options.every]:
        hearing = ear.listen(whole_recording(options.commands / name), offer, False)
        found = hearing.command
        right = found is not None and found.name == entry["command"]
        right = right and found is not None and found.slots == entry["slots"]
        commands.append(row_of(str(entry["half"]), right, hearing))
    talk: list[Row] = []
    hours = {"tune": 0.0, "report": 0.0}
    for folder in options.talk:
        known = index(folder)
        for number, file in enumerate(sorted(folder.rglob("*.flac"))):
            entry = known.get(str(file.relative_to(folder)), {})
            half = str(entry.get("half", ("tune", "report")[number % 2]))
            hours[half] += recording_length_s(file) / 3600
            for utterance in recording_utterances(file):
                sound = utterance.sound
                if sound is None or engine.spot(sound, offer.address) < least:
                    continue  # without the address nothing is accepted, whatever it reads
                talk.append(row_of(half, False, ear.listen(utterance, offer, False)))
    report(commands, talk, hours)


def report(commands: list[Row], talk: list[Row], hours: dict[str, float]) -> None:
    lines = [
        "# Commands against other talk (PocketSphinx, address phrase first, whole offer)",
        "",
        f"Shipped margin {DEFAULT_POINT.margin:g}, address score {DEFAULT_POINT.address_score:g}.",
        "",
        "| half | margin | commands | missed | wrong | talk, h | false accepts | bound per hour |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for half in ("tune", "report"):
        for margin in (-1000.0, -20.0, -10.0, 0.0, 4.0, 8.0, 12.0, 16.0, 20.0):
            own = [r for r in commands if r.half == half]
            taken = [r for r in own if r.addressed and r.margin >= margin]
            wrong = sum(not r.right for r in taken)
            false = [r for r in talk if r.half == half and r.addressed and r.margin >= margin]
            bound = POISSON_95[min(len(false), 9)] / max(hours[half], 1e-9)
            count = max(len(own), 1)
            lines.append(
                f"| {half} | {margin:g} | {len(own)} | "
                f"{100 * (len(own) - len(taken)) / count:.1f} % | {100 * wrong / count:.1f} % | "
                f"{hours[half]:.2f} | {len(false)} | {bound:.2f} |"
            )
    lines += ["", "Talk that was taken for a command at the lowest margin:", ""]
    lines += [f"- {r.half}: {r.text} ({r.margin:.0f})" for r in talk if r.addressed] or ["- none"]
    right = sum(r.right for r in commands)
    lines += ["", f"Whole command right, before any line: {right} of {len(commands)}."]
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "rejection.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    main()
