"""Guessed pronunciations for words that a dictionary lacks, in the ARPAbet of CMUdict."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from unicodedata import name

IPA_TO_ARPABET = {
    "aɪə": "AY AH", "aɪɚ": "AY ER", "aʊɚ": "AW ER", "aɪ": "AY", "aʊ": "AW", "eɪ": "EY",
    "oʊ": "OW", "əʊ": "OW", "ɔɪ": "OY", "tʃ": "CH", "dʒ": "JH", "ɑːɹ": "AA R", "ɔːɹ": "AO R",
    "oːɹ": "AO R", "ɪɹ": "IH R", "ɛɹ": "EH R", "ʊɹ": "UH R", "ɜː": "ER", "ɚ": "ER", "ɝ": "ER",
    "iː": "IY", "uː": "UW", "ɑː": "AA", "ɔː": "AO", "oː": "AO", "i": "IY", "u": "UW",
    "ɪ": "IH", "ᵻ": "IH", "ɨ": "IH", "ɛ": "EH", "e": "EH", "æ": "AE", "a": "AE", "ʌ": "AH",
    "ə": "AH", "ɐ": "AH", "ɒ": "AA", "ɑ": "AA", "ɔ": "AO", "ʊ": "UH", "o": "OW", "p": "P",
    "b": "B", "t": "T", "d": "D", "ɾ": "D", "k": "K", "ɡ": "G", "g": "G", "f": "F", "v": "V",
    "θ": "TH", "ð": "DH", "s": "S", "z": "Z", "ʃ": "SH", "ʒ": "ZH", "h": "HH", "m": "M",
    "n": "N", "ŋ": "NG", "l": "L", "ɫ": "L", "ɹ": "R", "r": "R", "w": "W", "j": "Y", "x": "K",
    "ʔ": "T",
}  # fmt: skip
"""From the IPA that eSpeak NG writes for US English; longest symbol first when reading."""
LONGEST = max(map(len, IPA_TO_ARPABET))
"""Letters of the longest symbol."""
SYLLABIC = {"n̩": "AH N", "l̩": "AH L", "m̩": "AH M"}
"""Consonants that are a syllable by themselves, as the CMU Pronouncing Dictionary writes them."""


def arpabet(ipa: str) -> str:
    """IPA as ARPAbet phones separated by spaces, without stress; unknown signs are passed over."""
    for sign, spelt in SYLLABIC.items():
        ipa = ipa.replace(sign, f" {spelt} ")
    ipa = "".join(c for c in ipa if c not in "ˈˌ‍")
    phones: list[str] = []
    at = 0
    while at < len(ipa):
        if ipa[at].isascii() and ipa[at].isupper():
            end = at
            while end < len(ipa) and ipa[end].isupper():
                end += 1
            phones.append(ipa[at:end])
            at = end
            continue
        for length in range(min(LONGEST, len(ipa) - at), 0, -1):
            found = IPA_TO_ARPABET.get(ipa[at : at + length])
            if found:
                phones += found.split()
                at += length
                break
        else:
            at += 1
    return " ".join(phones)


def in_latin_letters(word: str) -> bool:
    """Whether a guess means anything: of other letters eSpeak NG says only what sort they are."""
    return any(map(str.isalnum, word)) and all(
        name(letter, "").startswith("LATIN") for letter in word if letter.isalpha()
    )


class Pronouncer:
    """Guesses with eSpeak NG in a short-lived process, and remembers."""

    def __init__(self, timeout_s: float = 20.0) -> None:
        self._timeout_s = timeout_s
        self._known: dict[str, str] = {}

    def guess(self, words: Sequence[str]) -> dict[str, str]:
        """Phones by word; a word that cannot be guessed is left out."""
        new = sorted({w for w in words if w not in self._known and in_latin_letters(w)})
        if new:
            self._known |= self._ask(new)
        return {word: self._known[word] for word in words if self._known.get(word)}

    def _ask(self, words: Sequence[str]) -> dict[str, str]:
        try:
            done = subprocess.run(
                [sys.executable, "-m", "bayhelper.hear.engines.espeak_phonemes"],
                input="\n".join(words) + "\n",
                capture_output=True,
                text=True,
                timeout=self._timeout_s,
                check=False,
            )
        except (OSError, subprocess.TimeoutExpired):
            return {}
        lines = done.stdout.splitlines()
        if done.returncode or len(lines) != len(words):
            return {}
        return {word: arpabet(line) for word, line in zip(words, lines, strict=True)}
