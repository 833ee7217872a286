"""How words are said: a list that comes with a model, and a guess for words that it lacks."""

from __future__ import annotations

import gzip
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from bayhelper.hear.engines.phones import PHONES
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.terms.errors import HearingError

LEXICON = "lexicon.txt.gz"
"""Its name in a model's folder."""
Pronunciation = tuple[str, ...]
_PHONES = {phone: phone for phone in PHONES}
"""One string a phone, so that 130,000 words do not keep a copy each."""


class Lexicon:
    """Pronunciations by word, the commonest word first."""

    def __init__(
        self, known: Mapping[str, Sequence[Pronunciation]], pronouncer: Pronouncer | None = None
    ) -> None:
        """Without a pronouncer nothing is guessed."""
        self._known = {word: tuple(ways) for word, ways in known.items()}
        self._pronouncer = pronouncer
        self._guessed: dict[str, tuple[Pronunciation, ...]] = {}

    @property
    def words(self) -> tuple[str, ...]:
        """Words of the list, the commonest first; not the guessed ones."""
        return tuple(self._known)

    def pronunciations(self, word: str) -> tuple[Pronunciation, ...]:
        """The ways to say a word; none when it is not in the list and cannot be guessed."""
        if word not in self._known and word not in self._guessed:
            self._guess((word,))
        return self._known.get(word) or self._guessed.get(word, ())

    def missing(self, words: Sequence[str]) -> tuple[str, ...]:
        """Those of the words that nothing is known of; all are guessed at in one go."""
        self._guess(words)
        return tuple(word for word in words if not self.pronunciations(word))

    def _guess(self, words: Sequence[str]) -> None:
        new = [w for w in words if w not in self._known and w not in self._guessed]
        if not new:
            return
        found = self._pronouncer.guess(new) if self._pronouncer else {}
        for word in new:
            phones = tuple(found.get(word, "").split())
            sayable = phones and all(phone in _PHONES for phone in phones)
            self._guessed[word] = (phones,) if sayable else ()


def read_lexicon(path: Path, pronouncer: Pronouncer | None = None) -> Lexicon:
    """Read a list: lines such as `wax W AE K S`, a word once for each way to say it.

    A name that ends in .gz is unpacked. Raises HearingError for a file that cannot be read, and
    names the line that is wrong.
    """
    try:
        packed = path.read_bytes()
        text = (gzip.decompress(packed) if path.suffix == ".gz" else packed).decode("utf-8")
    except (OSError, EOFError, ValueError) as error:
        raise HearingError(
            f"Cannot read the pronunciations in {path}: {error}. Fetch the model again."
        ) from error
    known: dict[str, list[Pronunciation]] = {}
    for at, line in enumerate(text.splitlines(), start=1):
        word, *phones = line.split() or [""]
        try:
            ways = tuple(_PHONES[phone] for phone in phones)
        except KeyError as error:
            raise HearingError(f"Line {at} of {path} has {error} where a phone is due.") from error
        if not ways:
            raise HearingError(f"Line {at} of {path} is no word with phones behind it: '{line}'.")
        known.setdefault(word, []).append(ways)
    return Lexicon(known, pronouncer)


def lexicon_lines(known: Iterable[tuple[str, Iterable[Pronunciation]]]) -> Iterable[str]:
    """The lines of such a list."""
    return (f"{word} {' '.join(phones)}\n" for word, ways in known for phones in ways)
