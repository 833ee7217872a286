"""Where the Vosk model lies: the one that ships, unless another is asked for."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from bayhelper.terms.errors import HearingError

MODEL_VARIABLE = "BAYHELPER_VOSK_MODEL"
"""The variable of the environment that names a model folder where the settings name none."""
ACOUSTICS = ("am/final.mdl", "final.mdl")
"""Files of which every model has one, by the layout of its time."""
SHIPPED = Path(__file__).parent / "model"
"""Our own; CARD.md beside it says what it is."""


def find_model(folder: str = "", environment: Mapping[str, str] | None = None) -> Path:
    """The model folder: as given, or as BAYHELPER_VOSK_MODEL says, or the one that ships.

    `environment` is the process's own unless given. Raises HearingError when the one that was named
    is none.
    """
    environment = os.environ if environment is None else environment
    named = folder or environment.get(MODEL_VARIABLE, "")
    if not named:
        return SHIPPED
    place = Path(named).expanduser()
    if is_model(place):
        return place
    raise HearingError(
        f"Expected a Vosk model in {place}, a folder with {ACOUSTICS[0]} in it; found none. "
        f"Correct vosk_model in settings.toml or {MODEL_VARIABLE}, or leave both empty for the "
        "model that ships."
    )


def is_model(folder: Path) -> bool:
    """Whether the folder holds a Vosk model, in its newer or older layout."""
    return any((folder / file).is_file() for file in ACOUSTICS)
