"""Where a Vosk model lies: as told, in the environment, or where vosk has put one already."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from bayhelper.hear.vosk_engine import model_folders
from bayhelper.terms.errors import HearingError

MODEL_VARIABLE = "BAYHELPER_VOSK_MODEL"
ACOUSTICS = ("am/final.mdl", "final.mdl")
"""Files of which every model has one, by the layout of its time."""


def find_model(
    folder: str = "",
    environment: Mapping[str, str] | None = None,
    downloaded: Sequence[Path] | None = None,
) -> Path:
    """The model folder: as given, or BAYHELPER_VOSK_MODEL, or one for English that vosk has.

    `environment` and `downloaded` are the process's own unless given. Raises HearingError when
    there is none, or the one that was named is none.
    """
    environment = os.environ if environment is None else environment
    named = folder or environment.get(MODEL_VARIABLE, "")
    if named:
        place = Path(named).expanduser()
        if is_model(place):
            return place
        raise HearingError(
            f"Expected a Vosk model in {place}, a folder with {ACOUSTICS[0]} in it; found none. "
            f"Correct vosk_model in settings.toml or {MODEL_VARIABLE}."
        )
    for place in model_folders() if downloaded is None else downloaded:
        if "-en-" in place.name and is_model(place):
            return place
    raise HearingError(
        "No Vosk model was found where vosk keeps them. Run 'bayhelper model get' where there is "
        f"a network, or set vosk_model in settings.toml, or {MODEL_VARIABLE}, to a model's folder."
    )


def is_model(folder: Path) -> bool:
    """Whether the folder holds a Vosk model, in its newer or older layout."""
    return any((folder / file).is_file() for file in ACOUSTICS)
