"""Settings of the shop: defaults, then settings.toml in the data folder, then the command line."""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Literal, cast

from bayhelper.hear.accept import DEFAULT_ADDRESS
from bayhelper.terms.errors import RunError

FILE_NAME = "settings.toml"
LEFT_DRIVING = frozenset(
    "gb ie au nz za in pk bd lk my sg th jp hk ke ug tz zm zw mt cy jm tt bb".split()
)
"""Countries that drive on the left, so that the driver sits on the right (from memory)."""
US_DIALECT = frozenset({"us", "ca", "ph"})
"""Countries whose panel names are the American ones (from memory)."""


@dataclass(frozen=True)
class Settings:
    """What a shop sets once."""

    country: str = "gb"
    """Two-letter code; decides the dialect and the driver's side unless they are set."""
    dialect: str = ""
    """'uk' or 'us'."""
    steering: str = ""
    """'left' or 'right': the driver's side."""
    plan: str = "one_step"
    """Plan of a job that is opened without naming one."""
    body: str = "saloon"
    """Car body of a job that is opened without naming one."""
    engine: str = "pocketsphinx"
    """Recogniser: 'pocketsphinx' or 'vosk'."""
    vosk_model: str = ""
    """Folder of a Vosk model."""
    address: str = DEFAULT_ADDRESS
    """The address phrase."""
    technicians: tuple[str, ...] = ()
    """Names that may be said first."""
    car: str = ""
    """Description of the vehicle for the next job."""
    voice: str = ""
    """Id of the voice; empty for the default."""
    voice_rate_wpm: int = 165
    """Words per minute."""
    follow_on_s: float = 5.0
    """How long after a reply a command needs no address."""
    patience_s: float = 0.8
    """Silence that ends an utterance."""

    def speaks(self) -> Literal["uk", "us"]:
        """The dialect in force."""
        chosen = self.dialect or ("us" if self.country in US_DIALECT else "uk")
        return cast(Literal["uk", "us"], chosen)

    def drives(self) -> Literal["left", "right"]:
        """The driver's side in force."""
        chosen = self.steering or ("right" if self.country in LEFT_DRIVING else "left")
        return cast(Literal["left", "right"], chosen)


CHOICES = {
    "dialect": ("", "uk", "us"),
    "steering": ("", "left", "right"),
    "engine": ("pocketsphinx", "vosk"),
}


def data_folder(given: Path | None) -> Path:
    """The data folder: as given, or BAYHELPER_DATA, or the user's own."""
    if given is not None:
        return given
    named = os.environ.get("BAYHELPER_DATA")
    if named:
        return Path(named)
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "bayhelper"


def load_settings(folder: Path, **overrides: Any) -> Settings:
    """Settings in force; overrides that are None count as not given.

    Raises RunError naming file, key, value and what was wanted.
    """
    file = folder / FILE_NAME
    settings = Settings()
    if file.exists():
        try:
            content = tomllib.loads(file.read_text(encoding="utf-8"))
        except (OSError, tomllib.TOMLDecodeError) as error:
            raise RunError(f"{file} cannot be read: {error}. Correct it.") from error
        settings = _with(settings, content, str(file))
    given = {key: value for key, value in overrides.items() if value is not None}
    return _with(settings, given, "the command line")


def _with(settings: Settings, content: dict[str, Any], where: str) -> Settings:
    known = {field.name: field for field in fields(Settings)}
    values: dict[str, Any] = {}
    for key, value in content.items():
        if key not in known:
            raise RunError(
                f"{where}: '{key}' is no setting. Settings are {', '.join(sorted(known))}."
            )
        values[key] = _value(key, value, getattr(settings, key), where)
    return replace(settings, **values)


def _value(key: str, value: Any, default: Any, where: str) -> Any:
    if isinstance(default, tuple):
        if not isinstance(value, list | tuple) or not all(isinstance(v, str) for v in value):
            raise RunError(f"{where}: '{key}' must be a list of texts, not {value!r}.")
        return tuple(value)
    if isinstance(default, float) and isinstance(value, int) and not isinstance(value, bool):
        value = float(value)
    if type(value) is not type(default):
        wanted = {str: "a text", int: "a whole number", float: "a number"}[type(default)]
        raise RunError(f"{where}: '{key}' must be {wanted}, not {value!r}.")
    if key in CHOICES and value not in CHOICES[key]:
        wanted = " or ".join(repr(choice) for choice in CHOICES[key] if choice)
        raise RunError(f"{where}: '{key}' must be {wanted}, not {value!r}.")
    return value
