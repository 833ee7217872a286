"""A model that needs no training: its phones are whistled, each at the pitch of its own mel band.

The network turns the features back into the energies of 39 bands, and takes the loudest for the
phone that is said; where all are faint it says blank.
"""

from __future__ import annotations

import gzip

import numpy as np

from bayhelper.hear.engines.lexicon import LEXICON
from bayhelper.hear.engines.phones import BLANK, PDFS, PHONES, pdf
from bayhelper.terms.sound import Sound
from training.kaldi_model import FEATURES, Layer, write_model

RATE_HZ = 16_000
LOW_HZ, HIGH_HZ = 20.0, 7600.0
FAINT = 14.0
"""Logarithm of a band's energy below which nothing is said."""
WORDS = {
    "start": ["S T AA R T"],
    "wipe": ["W AY P"],
    "stop": ["S T AA P"],
    "left": ["L EH F T"],
    "right": ["R AY T"],
    "door": ["D AO R"],
    "front": ["F R AH N T"],
    "the": ["DH AH", "DH IY"],
    "a": ["AH"],
    "hey": ["HH EY"],
    "bay": ["B EY"],
    "write": ["R AY T"],
}


def write_whistling_model(folder, words=WORDS):
    """Everything that a model's folder holds; the words in order of how common they are."""
    k, n = np.arange(FEATURES)[:, None], np.arange(FEATURES)
    cosines = np.cos(np.pi / FEATURES * (n + 0.5) * k) * np.sqrt(np.where(k == 0, 1, 2) / FEATURES)
    lifter = 1 + 11 * np.sin(np.pi * np.arange(FEATURES) / 22)
    bands = np.linalg.inv(cosines * lifter[:, None])
    weight, bias = np.zeros((PDFS, FEATURES)), np.zeros(PDFS)
    for phone in PHONES:
        weight[pdf(phone)] = bands[pdf(phone)]
    bias[BLANK] = FAINT
    layer = Layer("last", (0,), weight.astype(np.float32), bias.astype(np.float32))
    write_model(folder, [layer], np.full(PDFS, 1 / PDFS), weight_bytes=4)
    lines = (f"{word} {phones}\n" for word, ways in words.items() for phones in ways)
    (folder / LEXICON).write_bytes(gzip.compress("".join(lines).encode()))


def whistled(*words, pause_s=0.2, phone_s=0.09, gap_s=0.03):
    """The words' first pronunciations, with silence around; any string of phones will do too."""
    pieces = [np.zeros(int(pause_s * RATE_HZ))]
    for word in words:
        for phone in WORDS.get(word, [word])[0].split():
            times = np.arange(int(phone_s * RATE_HZ)) / RATE_HZ
            tone = 8000 * np.sin(2 * np.pi * _pitch_hz(pdf(phone)) * times)
            pieces += [tone * np.hanning(len(tone)), np.zeros(int(gap_s * RATE_HZ))]
        pieces.append(np.zeros(int(pause_s * RATE_HZ)))
    return Sound(np.concatenate(pieces).astype("<i2").tobytes(), RATE_HZ)


def _pitch_hz(band):
    low, high = (1127 * np.log1p(hz / 700) for hz in (LOW_HZ, HIGH_HZ))
    mel = low + (high - low) * (band + 1) / (FEATURES + 1)
    return 700 * np.expm1(mel / 1127)
