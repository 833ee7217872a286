"""`bayhelper check`: tries each part, or the room, and says what to do when it is wrong."""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict

from bayhelper.reckon.audible import ToneReport, judge_room
from bayhelper.run.selfcheck import check_all
from bayhelper.run.settings import data_folder, load_settings
from bayhelper.run.tone_recording import read_room, record_room

NOMINAL_HZ = (63, 125, 250, 500, 1000, 2000, 4000, 8000)
"""Names of the octaves of reckon.loudness.BANDS_HZ, as IEC 61260-1 has them (from memory)."""
ASSUMED = (
    "It is assumed that your ear is as far from the loudspeaker as the microphone is: every "
    "doubling of the distance costs some 6 dB in the open, less in a room. The microphone is no "
    "sound level meter: only the differences mean anything, and hearing protection is not counted."
)
"""What the verdict takes for granted; shown below it."""


def run(options: argparse.Namespace) -> int:
    """Print one line a part; 1 when a part that is needed does not work."""
    if options.room or options.room_files:
        return _room(options)
    findings = check_all(data_folder(options.data))
    for finding in findings:
        if options.json:
            print(json.dumps(asdict(finding)))
        else:
            print(f"{finding.state:5} {finding.part:12} {finding.text}")
    return int(any(finding.state == "bad" for finding in findings))


def _room(options: argparse.Namespace) -> int:
    """Print one line a tone; 1 when one of them would not be plain."""
    if options.room_files:
        sounds = read_room(options.room_files)
    else:
        sounds = record_room(load_settings(data_folder(options.data)))
    reports = judge_room(*sounds)
    if options.json:
        for report in reports:
            print(json.dumps(_fields(report)))
    else:
        print(
            "dB above the masked threshold, by octave (Hz); a plain tone has 13 or more at 500 to"
        )
        print("2000 Hz, or 15 above the noise in A-weighting (ISO 7731, tones only).")
        print("tone    " + "".join(f"{hz:>7}" for hz in NOMINAL_HZ) + "      A")
        for report in reports:
            cells = "".join(f"{max(above, -99):7.0f}" for above in report.above_db)
            verdict = "plain" if report.heard else report.advice
            print(f"{report.tone:8}{cells}{report.a_above_db:7.0f}  {verdict}")
        print(ASSUMED)
    return int(not all(report.heard for report in reports))


def _fields(report: ToneReport) -> dict[str, object]:
    above = {hz: round(a, 1) for hz, a in zip(NOMINAL_HZ, report.above_db, strict=True)}
    return {
        "tone": report.tone,
        "above_db": above,
        "a_above_db": round(report.a_above_db, 1),
        "heard": report.heard,
        "advice": report.advice,
        "assumed": ASSUMED,
    }
