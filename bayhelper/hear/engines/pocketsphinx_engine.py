"""The embedded engine: PocketSphinx with the US English model that its wheel carries."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from math import log
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pocketsphinx

from bayhelper.hear.engines.nothing import NOTHING, NOWHERE, SHORTEST_S
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Spotted

LOG_BASE = log(1.0001)
"""PocketSphinx counts likelihoods in powers of 1.0001, its default `logbase`."""
FAINTEST = 1e-60
"""Likelihood ratio below which a phrase is not there at all: low enough that every occurrence gets
a score, among which the operating point draws its line."""
KEPT = 2
"""Grammars kept ready, with the address and without. Each takes some 50 MB, and 50 ms to add."""
FREE, KEY, ONCE = "free", "key", "once"
"""Names of searches inside a decoder; those of grammars that are kept begin with a g."""
MODEL = Path(pocketsphinx.get_model_path("en-us"))
"""The US English model that the wheel carries, with a trigram of general English."""
DICTIONARY = MODEL / "cmudict-en-us.dict"
"""134,000 words, 22 MB in memory."""


class PocketSphinxEngine(Closing):
    """Satisfies terms.ports.Engine; nothing carries over from one call to the next."""

    name = "pocketsphinx"

    def __init__(self, pronouncer: Pronouncer) -> None:
        """Each kind of reading loads what it needs when it is first asked for."""
        self._pronouncer = pronouncer
        self._grammar: Any = None
        self._key: Any = None
        self._free: Any = None
        self._added: dict[str, str] = {}
        self._grammars: list[str] = []
        self._keys: dict[tuple[str, ...], str] = {}

    def close(self) -> None:
        """Let go of the decoders."""
        self._grammar = self._key = self._free = None

    @property
    def _decoder(self) -> Any:
        """For grammars, and for the dictionary."""
        if self._grammar is None:
            # The default beams lose the right path where a pause or a slur makes it fall behind.
            self._grammar = _decoder(compallsen=True, beam=1e-80, pbeam=1e-80, wbeam=1e-60)
        return self._grammar

    def missing_words(self, words: Sequence[str]) -> tuple[str, ...]:
        """Words that have no pronunciation, not even a guessed one."""
        unknown = [w for w in words if self._decoder.lookup_word(w) is None]
        guessed = self._pronouncer.guess([w for w in unknown if w not in self._added])
        for word, phones in guessed.items():
            self._decoder.add_word(word, phones, True)
            self._added[word] = phones
        return tuple(w for w in unknown if w not in self._added)

    def phones(self, words: Sequence[str]) -> dict[str, tuple[str, ...]]:
        """Phones of each word that has a pronunciation, known or guessed."""
        self.missing_words(words)
        found = {word: self._decoder.lookup_word(word) for word in words}
        return {word: tuple(phones.split()) for word, phones in found.items() if phones}

    def listen(self, sound: Sound, jsgf: str) -> Decode:
        """The best reading under a grammar. Raises HearingError for a grammar it cannot take."""
        name = "g" + hashlib.sha256(jsgf.encode()).hexdigest()[:16]
        if name not in self._grammars:
            if len(self._grammars) >= KEPT:
                self._decoder.remove_search(self._grammars.pop(0))
            self._add_grammar(name, jsgf)
            self._grammars.append(name)
        return _decode(self._decoder, sound, name)

    def listen_once(self, sound: Sound, jsgf: str) -> Decode:
        """The same, and the grammar is forgotten."""
        self._add_grammar(ONCE, jsgf)
        decode = _decode(self._decoder, sound, ONCE)
        self._decoder.remove_search(ONCE)
        return decode

    def listen_freely(self, sound: Sound) -> Decode:
        """The best reading under the general language model."""
        if self._free is None:
            self._free = _free_decoder()
        return _decode(self._free, sound, FREE)

    def spot(self, sound: Sound, phrase: str) -> Spotted:
        """The surest occurrence of a phrase in a keyphrase search of its own; see terms.ports."""
        return self.spot_each(sound, (phrase,))[phrase]

    def spot_each(self, sound: Sound, phrases: tuple[str, ...]) -> dict[str, Spotted]:
        """The same for several phrases in one search.

        PocketSphinx gives the ratio against a loop of phones as a probability: its logarithm
        shifted down by 10 bits (SENSCR_SHIFT) and less 1500 (KWS_MAX), as in its sources.
        """
        if phrases not in self._keys:
            self._key = self._key or _key_decoder()
            for word, phones in self.phones(" ".join(phrases).split()).items():
                if self._key.lookup_word(word) is None:
                    self._key.add_word(word, " ".join(phones), True)
            self._keys[phrases] = f"{KEY}{len(self._keys)}"
            with TemporaryDirectory() as folder:
                file = Path(folder) / "phrases.kws"
                lines = [f"{phrase} /{FAINTEST}/\n" for phrase in phrases]
                file.write_text("".join(lines), encoding="utf-8")
                self._key.add_kws(self._keys[phrases], str(file))
        surest = dict.fromkeys(phrases, NOWHERE)
        if _decode(self._key, sound, self._keys[phrases]).words:
            for found in self._key.seg():
                steps = log(max(found.prob, 1e-300)) / LOG_BASE
                score = (steps + 1500) * 1024 * LOG_BASE / log(10)
                phrase = found.word.strip()
                if score > surest[phrase].score:
                    surest[phrase] = Spotted(score, found.start_frame / 100)
        return surest

    def _add_grammar(self, name: str, jsgf: str) -> None:
        try:
            self._decoder.add_jsgf_string(name, jsgf)
        except (RuntimeError, ValueError) as error:
            raise HearingError(
                f"PocketSphinx does not take this grammar: {error}. Words that its dictionary "
                "lacks must be given a pronunciation first (missing_words)."
            ) from error


def _decoder(dictionary: Path = DICTIONARY, **options: Any) -> Any:
    """A decoder with neither dither nor a second pass over its lattice: quick and repeatable.

    Where scores of two searches are compared, `compallsen` has to be set. Each frame's scores are
    taken relative to the best senone computed: with the default, only those that a search asks
    for, they have no common measure, and the free reading loses even to wrong grammars.
    """
    return pocketsphinx.Decoder(
        hmm=str(MODEL / "en-us"),
        dict=str(dictionary),
        lm=None,
        loglevel="FATAL",
        dither=False,
        cmn="batch",
        bestpath=False,
        **options,
    )


def _key_decoder() -> Any:
    """One whose dictionary is next to empty: the words of the phrases are added."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "one.dict"
        file.write_text("a AH\n", encoding="utf-8")
        return _decoder(file)


def _free_decoder() -> Any:
    decoder = _decoder(compallsen=True, fwdflat=False, maxhmmpf=3000)
    decoder.add_lm_file(FREE, str(MODEL / "en-us.lm.bin"))
    return decoder


def _decode(decoder: Any, sound: Sound, search: str) -> Decode:
    """Features are set up anew for each utterance: else one starts from the mean of the last.

    Sound without energy (digital silence, a constant) is read as nothing. PocketSphinx takes the
    cepstral mean over the frames that have energy, and where none has it divides by zero: no
    density can be compared with what is no number, and the search is left with the densities that
    suited the end of the utterance before, or none.
    """
    if sound.length_s < SHORTEST_S:
        return NOTHING
    decoder.activate_search(search)
    decoder.reinit_feat()
    decoder.start_utt()
    decoder.process_raw(sound.pcm, False, True)
    decoder.end_utt()
    hypothesis = decoder.hyp()
    frames = max(decoder.n_frames(), 1)
    if hypothesis is None or not hypothesis.hypstr or "nan" in decoder.get_cmn(False):
        return NOTHING
    words, spans = [], []
    for segment in decoder.seg():
        word = segment.word.partition("(")[0]
        if word and word[0] not in "<[+" and word != "SIL":
            words.append(word)
            spans.append((segment.start_frame / 100, (segment.end_frame + 1) / 100))
    score = log(max(hypothesis.score, 1e-300)) / LOG_BASE
    return Decode(tuple(words), score / frames, tuple(spans))
