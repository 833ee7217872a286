"""How often does talk that is not for the helper make it act? Hours of it, a piece at a time.

    python -m benchmarks.hearing.talk_hours [RECORDINGS ...] --cache FOLDER [--seconds S]

RECORDINGS are folders of speech, each sound taken once. Then comes synthetic talk, as much as the
time allows: the texts of benchmarks/other_talk in ever new order, by voices of eSpeak NG and flite
at several speeds and pitches. Everything is streamed through the end-pointer with its early end.
The cache keeps what was done; `python -m benchmarks.hearing` puts it into its table.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soxr

from bayhelper.hear.accept import DEFAULT_POINT, Ear
from bayhelper.hear.endpoint import RATE_HZ, EndPointer
from bayhelper.hear.patience import EarlyReader, is_whole
from bayhelper.hear.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.pronounce import Pronouncer
from bayhelper.hear.recording import read_sound
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Hearing, Utterance
from benchmarks.hearing.noises import SPEECH_DBFS, active_rms
from benchmarks.talk import NEAR, entries, talk_recordings
from training.make_corpora import TALK, texts
from training.sound_files import ratio

ACCENTS = ("en-gb", "en-us", "en-gb-x-rp", "en-gb-scotland", "en-gb-x-gbclan", "en-gb-x-gbcwmd")
VARIANTS = ("", *(f"+m{n}" for n in range(1, 9)), *(f"+f{n}" for n in range(1, 6)))
FLITE = ("slt", "rms", "awb")
SENTENCES = 60
"""In one piece of synthetic talk."""
PAUSE = "\n\n"


@dataclass(frozen=True)
class Piece:
    """A stretch of talk."""

    key: str
    """Its name in the cache."""
    kind: str
    """'human', 'neural' (the talk corpus), 'synthetic' or 'near' (written to sound alike)."""
    pcm: bytes
    """16 kHz, 16-bit, mono."""


class Gate:
    """An ear that reads on only where the address phrase is found, since it cannot act without."""

    def __init__(self, engine: PocketSphinxEngine) -> None:
        self._engine = engine
        self._ear = Ear(engine, processor_s)
        self.addressed = 0

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """See hear.accept.Ear."""
        sound = utterance.sound
        spotted = self._engine.spot(sound, offer.address) if sound else float("-inf")
        if spotted < DEFAULT_POINT.address_score:
            return Hearing(utterance, "", None, False, "not addressed", 0.0, "gate", False)
        self.addressed += 1
        return self._ear.listen(utterance, offer, follow_on)


def heard_in(piece: Piece, gate: Gate, offer: Offer) -> dict[str, object]:
    """What came of a piece."""
    gate.addressed = 0
    reader = EarlyReader(gate)

    def complete(utterance: Utterance) -> bool:
        return is_whole(reader.listen(utterance, offer, False), offer)

    pointer = EndPointer(complete=complete)
    found: list[Utterance] = []
    acts = []
    for at in range(0, len(piece.pcm), 3200):
        for utterance in pointer.feed(piece.pcm[at : at + 3200]):
            found.append(utterance)
            hearing = reader.listen(utterance, offer, False)
            acts += [hearing.text] if hearing.accepted else []
    return {
        "piece": piece.key,
        "kind": piece.kind,
        "hours": len(piece.pcm) / 2 / RATE_HZ / 3600,
        "utterances": len(found),
        "addressed": gate.addressed,
        "acts": acts,
    }


def recorded(folders: list[Path], known: set[str]) -> Iterator[Piece]:
    """Each recording once, with a second of silence behind it."""
    for talk in talk_recordings(folders):
        key = f"{talk.kind}/{talk.file.name}"
        if key in known:
            continue
        folder = next(folder for folder in folders if talk.file.is_relative_to(folder))
        made = bool(entries(folder))
        kind = "near" if talk.kind == "near" else "neural" if made else "human"
        yield Piece(key, kind, read_sound(talk.file).pcm + bytes(2 * RATE_HZ))


def synthetic(known: set[str], seed: int) -> Iterator[Piece]:
    """Ever more talk."""
    sentences = [row for row in texts(TALK) if row[0] != NEAR]
    for number in range(100_000):
        key = f"synthetic/{seed}/{number}"
        if key in known:
            continue
        rng = random.Random(f"{seed} {number}")
        said = [say for _, say in rng.sample(sentences, SENTENCES)]
        wave = spoken(said, rng)
        wave *= ratio(SPEECH_DBFS) / active_rms(wave)
        pcm = (np.clip(wave, -1, 1) * 32767).astype("<i2").tobytes()
        yield Piece(key, "synthetic", pcm + bytes(2 * RATE_HZ))


def spoken(said: list[str], rng: random.Random) -> np.ndarray:
    """Sentences by one voice, one in eight times by flite; float samples at RATE_HZ."""
    text = PAUSE.join(said)
    if rng.random() < 0.125:
        stretch = f"duration_stretch={rng.uniform(0.8, 1.2):.2f}"
        command = ["flite", "-voice", rng.choice(FLITE), "--setf", stretch, "-t", text]
        command += ["-o", "/dev/stdout"]
    else:
        voice = rng.choice(ACCENTS) + rng.choice(VARIANTS)
        speed, pitch = str(rng.randint(140, 210)), str(rng.randint(30, 70))
        command = ["espeak-ng", "-v", voice, "-s", speed, "-p", pitch, "--stdout", text]
    done = subprocess.run(command, capture_output=True, check=True)
    header = done.stdout[:44]
    values = np.frombuffer(done.stdout[44 : len(done.stdout) // 2 * 2], "<i2") / 32768
    rate_hz = int.from_bytes(header[24:28], "little")
    return np.asarray(soxr.resample(values, rate_hz, RATE_HZ))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("recordings", type=Path, nargs="*")
    parser.add_argument("--cache", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=600.0, help="how long to go on")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    file = options.cache / "talk.jsonl"
    options.cache.mkdir(parents=True, exist_ok=True)
    lines = file.read_text(encoding="utf-8").splitlines() if file.exists() else []
    known = {json.loads(line)["piece"] for line in lines}
    offer = build_library().offer(build_scope(Settings()))
    until = time.monotonic() + options.seconds
    with PocketSphinxEngine(Pronouncer()) as engine, file.open("a", encoding="utf-8") as out:
        gate = Gate(engine)
        for pieces in (recorded(options.recordings, known), synthetic(known, options.seed)):
            for piece in pieces:
                if time.monotonic() > until:
                    return
                out.write(json.dumps(heard_in(piece, gate, offer)) + "\n")
                out.flush()


if __name__ == "__main__":
    main()
