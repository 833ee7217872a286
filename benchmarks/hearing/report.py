"""The table, the JSON and the picture of what was heard."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from math import sqrt
from pathlib import Path
from typing import Any

from benchmarks.hearing.picture import Line, chart
from benchmarks.poisson import upper_95_per_hour

RESULTS = Path(__file__).parent.parent / "results"
"""Folder of the tables that are kept."""
SNR_ORDER = ("clean", "20", "15", "10", "5", "0")
"""Levels of noise, from quiet to loud."""
ABOUT = """\
# The ear in a loud bay

`python -m benchmarks.hearing`, everything that may be said offered at once (the hardest case),
address phrase first, speakers that nothing was trained or tuned on. Unless another engine is
named, PocketSphinx reads; 'vosk' is Vosk with the model that ships. Recordings are joined by 1
to 10 s of the same noise and streamed through the end-pointer the helper ships with. Speech is
synthetic: 'kokoro' are eight held-out speakers of Kokoro-82M, 'piper' is Piper's one voice at
three pitches, 'other' are voices of eSpeak NG and flite; the model that ships was trained on
other voices of Kokoro, on eSpeak NG and on one voice of Festival, never on Piper, flite or a
person. 'person' are people's drink orders (Picovoice, Speech-to-Intent Benchmark, 2018 on),
with a grammar of their own and no address phrase; Vosk lays other orders beside what it heard,
PocketSphinx cannot without commands. The level of speech is the RMS of the 10 ms frames within
25 dB of the loudest, the noise's that of the whole. Clean is 40 dB. Machines and water are made
by calculation; rows with other noises, or few recordings, cannot be compared. A *wrong* act is
one that was not said so, *refused* is nothing done, *asked* those of them after which the
helper asks whether the reading was meant. The range is Wilson's 95 % interval and takes
recordings for independent, which those of one stream are not quite. Clipped: more than 0.1 s of
speech lies outside the utterance. Seconds: from the last sample of the last word to the
decision, the end-pointer's wait and the processor time of the reading included (PocketSphinx
reads freely in a process beside, as shipped), of commands that came out right. The memory in
the JSON is that of the whole benchmark, not the helper's (that: benchmarks/results/live.md).
'whisper' is faster-whisper tiny.en laid beside the phrases, without numerals; it has no free
reading to compete with, and waits 0.8 s.
"""
"""What stands over the table."""


def write_results(done: Sequence[dict[str, Any]], cache: Path) -> None:
    """hearing.md, hearing.json and hearing.svg in benchmarks/results/."""
    cells: dict[str, list[dict[str, Any]]] = {}
    for entry in done:
        cells.setdefault(json.dumps(entry["cell"]), []).append(entry)
    table = sorted((summary(json.loads(key), own) for key, own in cells.items()), key=_place)
    talk_file = cache / "talk.jsonl"
    pieces = talk_file.read_text(encoding="utf-8").splitlines() if talk_file.exists() else []
    talk = talk_summary([json.loads(line) for line in pieces])
    RESULTS.mkdir(exist_ok=True)
    parts = ([ABOUT], told(table), by_noise(done), talk_told(talk), mistakes(done))
    text = "\n".join("\n".join(part) + "\n" for part in parts)
    (RESULTS / "hearing.md").write_text(text, encoding="utf-8")
    whole = {"conditions": table, "talk": talk}
    (RESULTS / "hearing.json").write_text(json.dumps(whole, indent=1) + "\n", encoding="utf-8")
    (RESULTS / "hearing.svg").write_text(chart(lines(table)), encoding="utf-8")
    print(text)


def _place(row: dict[str, Any]) -> tuple[object, ...]:
    snr = SNR_ORDER.index(row["snr"])
    return row["make"] != "kokoro", row["voice"] != "plain", row["voice"], snr, row["front"]


def summary(cell: dict[str, str], entries: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """One condition in figures."""
    rows = [row for entry in entries for row in entry["rows"]]
    count = {kind: sum(row["outcome"] == kind for row in rows) for kind in KINDS}
    late = sorted(row["latency_s"] for row in rows if row["latency_s"] is not None)
    length_s = sum(entry["length_s"] for entry in entries)
    return cell | {
        "noises": sorted({entry["noise"] for entry in entries}),
        "n": len(rows),
        **count,
        "asked": sum(row["asked"] for row in rows),
        "split": sum(row["pieces"] > 1 for row in rows),
        "merged": sum(row["merged"] for row in rows),
        "clipped": sum(row["clipped"] for row in rows),
        "unheard": sum(row["pieces"] == 0 for row in rows),
        "wake_missed": sum(not row["woken"] for row in rows),
        "acts_on_noise": sum(entry["strays"] for entry in entries),
        "p50_s": round(at_part(late, 0.5), 2),
        "p95_s": round(at_part(late, 0.95), 2),
        "real_time_factor": round(sum(e["compute_s"] for e in entries) / length_s, 3),
        "memory_mb": round(max(entry["memory_mb"] for entry in entries)),
        "stream_hours": round(length_s / 3600, 3),
    }


KINDS = ("right", "refused", "wrong")
"""What can come of a command."""


def at_part(values: Sequence[float], part: float) -> float:
    """The value below which that part of the sorted values lies; 0 of none."""
    return values[min(len(values) - 1, int(part * len(values)))] if values else 0.0


def wilson(count: int, n: int) -> tuple[float, float]:
    """95 % interval of a rate (Wilson 1927)."""
    if n == 0:
        return 0.0, 1.0
    z, p = 1.96, count / n
    middle, half = p + z * z / (2 * n), z * sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return max(0.0, middle - half) / (1 + z * z / n), (middle + half) / (1 + z * z / n)


def told(table: Iterable[dict[str, Any]]) -> Iterator[str]:
    """The table of conditions."""
    yield (
        "| speech | noise, dB | front end | noises | n | right | 95 % | refused | asked | wrong "
        "| 95 % | split | merged | clipped | unheard | wake missed | s, p50 | p95 | real time |"
    )
    yield "| --- | --- | --- | --- |" + " --- |" * 15
    for row in table:
        n = row["n"]
        speech = row["make"] + ("" if row["voice"] == "plain" else f", {row['voice']}")
        cells = [speech, row["snr"], row["front"], ", ".join(row["noises"]), str(n)]
        cells += [_percent(row["right"], n), _range(row["right"], n), _percent(row["refused"], n)]
        cells += [_percent(row["asked"], n), _percent(row["wrong"], n), _range(row["wrong"], n)]
        cells += [str(row[key]) for key in ("split", "merged", "clipped", "unheard")]
        cells += [_percent(row["wake_missed"], n), f"{row['p50_s']:.2f}", f"{row['p95_s']:.2f}"]
        cells.append(f"{row['real_time_factor']:.2f}")
        yield f"| {' | '.join(cells)} |"


def by_noise(done: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Plain speech of the first make: right and wrong in each noise by itself."""
    cells: dict[tuple[str, str], dict[str, list[dict[str, Any]]]] = {}
    for entry in done:
        cell = entry["cell"]
        if (cell["voice"], cell["make"]) == ("plain", "kokoro"):
            by_snr = cells.setdefault((cell["front"], entry["noise"]), {})
            by_snr.setdefault(cell["snr"], []).extend(entry["rows"])
    yield "## In each noise: right, wrong of n"
    yield ""
    yield f"| front end | noise | {' | '.join(SNR_ORDER)} |"
    yield "| --- |" + " --- |" * (1 + len(SNR_ORDER))
    for (front, noise), by_snr in sorted(cells.items()):
        told = [_right_wrong(by_snr.get(snr, [])) for snr in SNR_ORDER]
        yield f"| {front} | {noise} | {' | '.join(told)} |"


def _right_wrong(rows: Sequence[dict[str, Any]]) -> str:
    if not rows:
        return ""
    right, wrong = (sum(row["outcome"] == kind for row in rows) for kind in ("right", "wrong"))
    return f"{_percent(right, len(rows))}, {_percent(wrong, len(rows))} of {len(rows)}"


def _percent(count: int, n: int) -> str:
    return f"{100 * count / max(n, 1):.1f} %"


def _range(count: int, n: int) -> str:
    low, high = wilson(count, n)
    return f"{100 * low:.1f}–{100 * high:.1f}"


def talk_summary(pieces: Iterable[dict[str, Any]]) -> dict[str, dict[str, dict[str, Any]]]:
    """Hours, utterances and acts by engine and kind of talk."""
    engines: dict[str, dict[str, dict[str, Any]]] = {}
    for piece in pieces:
        own = engines.setdefault(piece["engine"], {}).setdefault(
            piece["kind"], {"hours": 0.0, "utterances": 0, "addressed": 0, "acts": [], "asks": []}
        )
        for key in ("hours", "utterances", "addressed"):
            own[key] += piece[key]
        for key in ("acts", "asks"):
            own[key] += piece.get(key, [])
    return engines


def talk_told(engines: dict[str, dict[str, dict[str, Any]]]) -> Iterator[str]:
    """The table of talk that is not for the helper."""
    if not engines:
        return
    yield "## Talk that is not for the helper"
    yield ""
    yield "Streamed, address phrase needed, no suppressor. The bound is the upper 95 % bound of a"
    yield "Poisson rate. 'near' was written to sound like address phrases and is counted apart."
    yield ""
    yield (
        "| engine | talk | hours | utterances | address found | asked | acts | bound, an hour "
        "| one in so many h |"
    )
    yield "| --- |" + " --- |" * 8
    for engine, kinds in sorted(engines.items()):
        yield from _talk_rows(engine, kinds)
    for engine, kinds in sorted(engines.items()):
        for name, own in sorted(kinds.items()):
            yield from (f"- {engine}, {name}: acted on as *{text}*" for text in own["acts"])


def _talk_rows(engine: str, kinds: dict[str, dict[str, Any]]) -> Iterator[str]:
    plain = {name: own for name, own in kinds.items() if name != "near"}
    for name, own in [*sorted(kinds.items()), ("all but near", _sum(plain))]:
        events = len(own["acts"])
        bound = upper_95_per_hour(events, own["hours"])
        cells = [engine, name, f"{own['hours']:.2f}", str(own["utterances"])]
        cells += [str(own["addressed"])]
        cells += [
            str(len(own["asks"])),
            str(events),
            *(("-", "-") if bound is None else (f"{bound:.2f}", f"{1 / bound:.1f}")),
        ]
        yield f"| {' | '.join(cells)} |"


def _sum(kinds: dict[str, dict[str, Any]]) -> dict[str, Any]:
    return {
        "hours": sum(own["hours"] for own in kinds.values()) or 1e-9,
        "utterances": sum(own["utterances"] for own in kinds.values()),
        "addressed": sum(own["addressed"] for own in kinds.values()),
        "acts": [text for own in kinds.values() for text in own["acts"]],
        "asks": [text for own in kinds.values() for text in own["asks"]],
    }


def mistakes(done: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Every wrong act behind the suppressor, and of the other engine."""
    yield "## Acts that were not said so"
    yield ""
    for entry in done:
        cell = entry["cell"]
        if not cell["front"].startswith("rnnoise"):
            continue
        for row in entry["rows"]:
            if row["outcome"] == "wrong":
                voice = "" if cell["voice"] == "plain" else f", {cell['voice']}"
                where = f"{cell['front']}, {cell['snr']} dB, {entry['noise']}, {row['speaker']}"
                where += voice
                yield f"- {where}: *{row['say']}* → {row['heard']}"


def lines(table: Sequence[dict[str, Any]]) -> list[Line]:
    """Right commands against noise, one line a front end, of plain held-out speech.

    Without conditions that lack a noise, which cannot be compared.
    """
    most = max((len(row["noises"]) for row in table), default=0)
    fronts = dict.fromkeys(row["front"] for row in table)
    found = []
    for front in fronts:
        points = [
            (row["snr"], 100 * row["right"] / row["n"], 100 * row["wrong"] / row["n"])
            for row in table
            if (row["front"], row["voice"], row["make"]) == (front, "plain", "kokoro")
            and len(row["noises"]) == most
        ]
        if len(points) >= 3:
            found.append(Line(front, tuple(sorted(points, key=lambda p: SNR_ORDER.index(p[0])))))
    return found
