"""Which phrase should address the helper? Misses against false wakes, phrase by phrase.

    python -m benchmarks.address_phrase ADDRESS TALK [TALK ...]

ADDRESS is a folder of recordings of candidate phrases with an index.jsonl (file, say, half); each
TALK is a folder of speech that is not for the helper. Talk goes through the end-pointer, as in the
bay; both are searched by the engine's own keyphrase search. Writes benchmarks/results/address.md.

Missed counts clean recordings of the phrase alone;
nothing here measures noise, or the whole chain that judges the command after the phrase.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Mapping
from pathlib import Path

from bayhelper.hear.capture.recording import recording_utterances, whole_recording
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from benchmarks.talk import entries, talk_recordings

RESULTS = Path(__file__).parent / "results"
"""Folder of the tables that are kept."""
LINES = (0.0, -20.0, -40.0)
"""Scores from which a phrase is taken for said: chosen to show both kinds of mistake."""

Scores = dict[str, list[float]]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("address", type=Path)
    parser.add_argument("talk", type=Path, nargs="+")
    options = parser.parse_args()
    with PocketSphinxEngine(Pronouncer()) as engine:
        said: Scores = defaultdict(list)
        for name, entry in entries(options.address).items():
            sound = whole_recording(options.address / name).sound
            if sound is not None:
                said[entry["say"]].append(engine.spot(sound, entry["say"]).score)
        candidates = tuple(sorted(said))
        hours: defaultdict[str, float] = defaultdict(float)
        woken: dict[str, Scores] = {phrase: defaultdict(list) for phrase in candidates}
        for talk in talk_recordings(options.talk):
            for utterance in recording_utterances(talk.file):
                if utterance.sound is None:
                    continue
                hours[talk.kind] += utterance.sound.length_s / 3600
                for phrase, found in engine.spot_each(utterance.sound, candidates).items():
                    woken[phrase][talk.kind].append(found.score)
    report(said, woken, hours)


def report(said: Scores, woken: dict[str, Scores], hours: Mapping[str, float]) -> None:
    kinds = sorted(hours, key=lambda kind: (kind == "near", kind))
    lines = [
        "# Address phrases: misses against false wakes",
        "",
        "The score is the decimal logarithm of the likelihood ratio of PocketSphinx's keyphrase",
        "search. Missed: of so many speakers, the phrase alone, clean. Wakes: number of utterances",
        "of other talk, by kind; 'near' was written to sound like the candidates and holds their",
        "words. A wake alone does nothing: the command after it is judged too.",
        "",
        "Hours of speech: " + ", ".join(f"{kind} {hours[kind]:.2f}" for kind in kinds) + ".",
    ]
    for line in LINES:
        heads = " | ".join(kinds)
        lines += ["", f"## Taken at {line:g}", "", f"| phrase | missed | {heads} |"]
        lines.append("| --- | --- |" + " --- |" * len(kinds))
        for phrase, scores in sorted(said.items()):
            missed = sum(score < line for score in scores)
            wakes = [sum(score >= line for score in woken[phrase][kind]) for kind in kinds]
            cells = " | ".join(map(str, wakes))
            lines.append(f"| {phrase} | {missed} of {len(scores)} | {cells} |")
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "address.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    main()
