"""How often does talk that is not for the helper make it act? Hours of it, a piece at a time.

    python -m benchmarks.hearing.talk_hours [RECORDINGS ...] --cache FOLDER [--engine E]

RECORDINGS are folders of speech, each sound taken once. Then comes synthetic talk, as much as the
time allows: the texts of benchmarks/other_talk and the prose of Python's own manual in ever new
order. Seven times in eight Piper speaks, each recording used at three pitches; else eSpeak NG, but
the ear misses the address phrase when that says it, so that its hours prove little.
Everything is streamed through the end-pointer with its early end. The cache keeps what was done;
`python -m benchmarks.hearing` puts it into its table. Take another folder for another engine, and
put what it holds behind the first one's.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import time
from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from pathlib import Path
from pydoc_data.topics import topics

import numpy as np
import soxr

from bayhelper.hear.accept import Ear
from bayhelper.hear.capture.endpoint import RATE_HZ, EndPointer
from bayhelper.hear.capture.recording import read_sound
from bayhelper.hear.patience import EarlyReader, is_whole
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope, open_engine
from bayhelper.run.settings import Settings
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Utterance
from benchmarks.hearing.noises import SPEECH_DBFS
from benchmarks.hearing.streams import finite
from benchmarks.talk import NEAR, entries, talk_recordings
from training.make_corpora import TALK, texts
from training.sound_files import active_rms, ratio
from training.speakers import Speaker, parse_speaker
from training.synthesisers import Synthesisers

ACCENTS = ("en-gb", "en-us", "en-gb-x-rp", "en-gb-scotland", "en-gb-x-gbclan", "en-gb-x-gbcwmd")
"""English voices of eSpeak NG."""
VARIANTS = ("", *(f"+m{n}" for n in range(1, 9)), *(f"+f{n}" for n in range(1, 6)))
"""Its throats: none, men, women."""
FOREIGN = ("prompts_es", "prompts_fr", "prompts_it", "prompts_ru")
"""Names of folders with talk in other languages."""
PITCHES = (0.88, 1.0, 1.14)
"""At which Piper's one voice is heard: chosen to be told apart."""
SENTENCES = 60
"""In one piece of synthetic talk, half of each kind."""


@dataclass(frozen=True)
class Piece:
    """A stretch of talk."""

    key: str
    """Its name in the cache."""
    kind: str
    """'human', 'Kokoro', 'Piper', 'eSpeak NG' or 'near' (written to sound alike)."""
    pcm: bytes
    """16 kHz, 16-bit, mono."""


def heard_in(piece: Piece, ear: Ear, offer: Offer) -> dict[str, object]:
    """What came of a piece."""
    reader = EarlyReader(ear)

    def complete(utterance: Utterance) -> bool:
        return is_whole(reader.listen(utterance, offer, False), offer)

    pointer = EndPointer(complete=complete)
    found: list[Utterance] = []
    acts, asks, addressed, scores = [], [], 0, [-inf]
    for at in range(0, len(piece.pcm), 3200):
        for utterance in pointer.feed(piece.pcm[at : at + 3200]):
            found.append(utterance)
            hearing = reader.listen(utterance, offer, False)
            if hearing.evidence:
                addressed += hearing.evidence.address_heard
                scores.append(hearing.evidence.address_score)
            acts += [hearing.text] if hearing.accepted else []
            asks += [hearing.text] if hearing.near and hearing.near.likely else []
    return {
        "piece": piece.key,
        "kind": piece.kind,
        "hours": len(piece.pcm) / 2 / RATE_HZ / 3600,
        "utterances": len(found),
        "addressed": addressed,
        "highest_address_score": finite(max(scores)),
        "acts": acts,
        "asks": asks,
    }


def recorded(folders: list[Path], known: set[str]) -> Iterator[Piece]:
    """Each recording once, with a second of silence behind it."""
    for talk in talk_recordings(folders):
        key = f"{talk.kind}/{talk.file.name}"
        if key in known:
            continue
        folder = next(folder for folder in folders if talk.file.is_relative_to(folder))
        made = bool(entries(folder))
        kind = "near" if talk.kind == "near" else "Kokoro" if made else "human"
        if talk.kind in FOREIGN:
            kind = "human, other languages"
        yield Piece(key, kind, read_sound(talk.file).pcm + bytes(2 * RATE_HZ))


def prose() -> list[str]:
    """Sentences of Python's manual, as far as they are plain words."""
    found = []
    for text in topics.values():
        for part in text.split("\n\n"):
            plain = re.sub(r"[\"*_`]", "", " ".join(part.split()))
            found += re.findall(r"[A-Z][A-Za-z ,'’-]{20,140}[.?!](?= |$)", plain)
    return list(dict.fromkeys(found))


def synthetic(known: set[str], seed: int, cache: Path) -> Iterator[Piece]:
    """Ever more talk."""
    sentences = [say for text, say in texts(TALK) if text != NEAR]
    manual = prose()
    voices = Synthesisers(cache)
    for number in range(100_000):
        rng = random.Random(f"{seed} {number}")
        piper = number % 8 != 0
        keys = {
            pitch: f"synthetic/{seed}/{number}/{pitch}" for pitch in (PITCHES if piper else (1,))
        }
        if known.issuperset(keys.values()):
            continue
        said = rng.sample(sentences, SENTENCES // 2) + rng.sample(manual, SENTENCES // 2)
        rng.shuffle(said)
        voice = "piper:joe" if piper else f"espeak:{rng.choice(ACCENTS)}{rng.choice(VARIANTS)}"
        wave, rate_hz = spoken(said, parse_speaker(voice), voices, rng)
        for pitch, key in keys.items():
            values = soxr.resample(wave, rate_hz * pitch, RATE_HZ)
            values *= ratio(SPEECH_DBFS) / active_rms(values)
            pcm = (np.clip(values, -1, 1) * 32767).astype("<i2").tobytes()
            kind = "Piper" if piper else "eSpeak NG"
            yield Piece(key, kind, pcm + bytes(2 * RATE_HZ))


def spoken(
    said: list[str], speaker: Speaker, voices: Synthesisers, rng: random.Random
) -> tuple[np.ndarray, float]:
    """Sentences by one voice with pauses between them, and the sampling rate."""
    parts: list[np.ndarray] = []
    rate_hz = float(RATE_HZ)
    for sentence in said:
        speech = voices.for_speaker(speaker).say(sentence, speaker, rng.uniform(0.85, 1.25))
        rate_hz = float(speech.rate_hz)
        parts += [speech.values, np.zeros(round(rng.uniform(0.3, 1.5) * rate_hz), np.float32)]
    return np.concatenate(parts), rate_hz


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("recordings", type=Path, nargs="*")
    parser.add_argument("--cache", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=600.0, help="how long to go on")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--engine", default=Settings().engine)
    options = parser.parse_args()
    file = options.cache / "talk.jsonl"
    options.cache.mkdir(parents=True, exist_ok=True)
    lines = file.read_text(encoding="utf-8").splitlines() if file.exists() else []
    known = {json.loads(line)["piece"] for line in lines}
    offer = build_library().offer(build_scope(Settings()))
    until = time.monotonic() + options.seconds
    with (
        open_engine(Settings(engine=options.engine)) as engine,
        file.open("a", encoding="utf-8") as out,
    ):
        ear = Ear(engine, processor_s)
        made = synthetic(known, options.seed, options.cache)
        for pieces in (recorded(options.recordings, known), made):
            for piece in pieces:
                if time.monotonic() > until:
                    return
                found = heard_in(piece, ear, offer) | {"engine": options.engine}
                out.write(json.dumps(found) + "\n")
                out.flush()


if __name__ == "__main__":
    main()
