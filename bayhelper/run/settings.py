"""Settings of the shop: defaults, settings.toml in the data folder, environment, command line.

Each goes before the one in front of it. In the environment a setting is BAYHELPER_ and its name in
capitals, such as BAYHELPER_COUNTRY; names of several technicians are parted by commas.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Literal

from bayhelper.hear.accept import DEFAULT_ADDRESS
from bayhelper.hear.capture.denoise import SUPPRESSORS
from bayhelper.plain.shapes import Shapes
from bayhelper.plain.toml import read_toml
from bayhelper.plain.words import shown
from bayhelper.terms.effects import Chatter
from bayhelper.terms.errors import PlainError, RunError
from bayhelper.terms.scope import Dialect, Steering
from bayhelper.understand.offer import plain_words

FILE_NAME = "settings.toml"
"""In the data folder."""
PREFIX = "BAYHELPER_"
"""Begins the name of every variable of the environment that is a setting."""
THEN = "Correct it there."
"""What to do about a setting that does not fit."""
LEFT_DRIVING = frozenset(
    "gb ie gg je im mt cy au nz fj pg in pk bd lk np bt mv my sg th id bn tl jp hk mo "
    "za na bw ls sz zm zw mw mz ke ug tz mu sc jm tt bb ag dm gd kn lc vc gy sr bm ky".split()
)
"""Countries that drive on the left, so that the driver sits on the right (from memory).

Left out where traffic keeps left but most cars are built for the right (Bahamas, Virgin Islands).
"""
US_DIALECT = frozenset({"us", "ca", "ph"})
"""Countries whose panel names are the American ones (from memory)."""
US_VOICE = "gmw/en-us"
"""eSpeak NG's American voice; its default one is British, whatever words it is given."""
PLAIN = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*(?: [^\W\d_]+(?:['’][^\W\d_]+)*)*")
"""Words as a grammar holds them: letters, with single spaces between."""
RANGES = {
    "voice_rate_wpm": (80, 400),
    "follow_on_s": (0, 60),
    "patience_s": (0.2, 5),
    "loudness_max": (0.05, 1),
    "air_c": (0, 60),
    "humidity_percent": (0, 100),
    "air_stale_min": (1, 1440),
}
"""Lowest and highest value of each number that is sense (chosen; no source). Silence under 0.2 s
stands inside words."""


@dataclass(frozen=True)
class Settings:
    """What a shop sets once."""

    country: str = "gb"
    """Two-letter code; decides the dialect and the driver's side unless they are set."""
    dialect: Literal["", Dialect] = ""
    """'uk' or 'us'; empty for the country's."""
    steering: Literal["", Steering] = ""
    """'left' or 'right': the driver's side; empty for the country's."""
    plan: str = "one_step"
    """Plan of a job that is opened without naming one."""
    body: str = "saloon"
    """Car body of a job that is opened without naming one."""
    engine: Literal["vosk", "pocketsphinx"] = "vosk"
    """Recogniser: 'vosk' or 'pocketsphinx'."""
    suppressor: str = "auto"
    """What takes noise out before the ear: 'rnnoise' or 'deepfilter' (extras), 'auto' for one that
    is installed, or 'off'."""
    vosk_model: str = ""
    """Folder of another Vosk model than the one that ships."""
    whisper_model: str = ""
    """Folder of a faster-whisper model for `notes --again`; empty for PocketSphinx."""
    address: str = DEFAULT_ADDRESS
    """The address phrase."""
    technicians: tuple[str, ...] = ()
    """Names that may be said first."""
    car: str = ""
    """Description of the vehicle for the next job."""
    batch: str = ""
    """Batch number of the coating in use; empty to say it in the job."""
    air_c: float = 0.0
    """Air temperature that a job begins with, degrees Celsius; 0 for not known."""
    humidity_percent: float = 0.0
    """Relative humidity that a job begins with; 0 for not known. Both or neither count."""
    air_file: str = ""
    """File that a logger of the air appends to: lines of time,temp_c,rh_percent."""
    air_stale_min: float = 60.0
    """Readings of the air older than this are said to be old, minutes."""
    photo_folder: str = ""
    """Folder that photographs of the job are dropped into while it is open."""
    voice: str = ""
    """Id of the voice; empty for the one that goes with the dialect."""
    voice_rate_wpm: int = 165
    """Words per minute."""
    chatter: Chatter = "normal"
    """How much is said: 'quiet' (alerts, questions, refusals and answers), 'normal' or 'teaching'
    (with reasons)."""
    follow_on_s: float = 5.0
    """How long after a reply a command needs no address."""
    patience_s: float = 0.8
    """Silence that ends an utterance."""
    microphones: tuple[str, ...] = ()
    """Parts of the names of the microphones, none for the system's own. 'Robin=headset' says that
    Robin wears that one."""
    speaker: str = ""
    """Part of the name of the loudspeaker; empty for the system's own."""
    loudness_max: float = 1.0
    """Loudness, up to 1, that nothing goes above."""
    button: str = ""
    """Key of the push-button or foot switch: a character, 'space' or 'enter'; empty for any key."""
    button_does: Literal["talk", "answered", "off"] = "talk"
    """What it does: 'talk' (the next words need no address), 'answered' (the alert was understood)
    or 'off'."""

    def speaks(self) -> Dialect:
        """The dialect in force."""
        return self.dialect or ("us" if self.country in US_DIALECT else "uk")

    def drives(self) -> Steering:
        """The driver's side in force."""
        return self.steering or ("right" if self.country in LEFT_DRIVING else "left")

    def air(self) -> tuple[float, float] | None:
        """Temperature and humidity that a job begins with, where both are set."""
        return (self.air_c, self.humidity_percent) if self.air_c and self.humidity_percent else None


def data_folder(given: Path | None) -> Path:
    """The data folder: as given, or BAYHELPER_DATA, or the user's own."""
    if given is not None:
        return given
    named = os.environ.get("BAYHELPER_DATA")
    if named:
        return Path(named)
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "bayhelper"


def cache_folder() -> Path:
    """The user's folder for what can be made again."""
    base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "bayhelper"


def load_settings(
    folder: Path, environment: Mapping[str, str] | None = None, **overrides: object
) -> Settings:
    """Settings in force; overrides that are None count as not given.

    `environment` is the process's own unless given. Raises RunError naming where it was set, key,
    value and what was wanted.
    """
    file = folder / FILE_NAME
    settings = Settings()
    if file.exists():
        try:
            content = read_toml(file, str(file))
        except PlainError as error:
            raise RunError(str(error)) from error
        settings = _with(settings, content, str(file))
    named = _from_environment(os.environ if environment is None else environment)
    settings = _with(settings, named, "the environment")
    given = {key: value for key, value in overrides.items() if value is not None}
    settings = _with(settings, given, "the command line")
    if not settings.voice and settings.speaks() == "us" and sys.platform == "linux":
        return replace(settings, voice=US_VOICE)
    return settings


def _from_environment(environment: Mapping[str, str]) -> dict[str, object]:
    """Those of the variables that are settings, as numbers and lists where that is wanted."""
    found: dict[str, object] = {}
    for field in fields(Settings):
        text = environment.get(PREFIX + field.name.upper())
        if text is None:
            continue
        found[field.name] = text
        if isinstance(field.default, tuple):
            found[field.name] = [name.strip() for name in text.split(",") if name.strip()]
        elif isinstance(field.default, int | float):
            try:
                found[field.name] = type(field.default)(text)
            except ValueError:
                continue  # refused as a text, with what is wanted
    return found


def _with(settings: Settings, content: dict[str, object], where: str) -> Settings:
    """The settings, with those that one place gives instead."""
    try:
        given = Shapes().read(content, Settings, where, THEN)
    except PlainError as error:
        raise RunError(str(error)) from error
    values = {key: getattr(given, key) for key in content}
    if "country" in values:
        values["country"] = _country(given.country, where)
    for key, value in values.items():
        _check(key, value, where)
    return replace(settings, **values)


def _check(key: str, value: object, where: str) -> None:
    """What the type of a setting does not tell."""
    wanted = ""
    if isinstance(value, tuple) and not all(plain_words(name) for name in value):
        wanted = "names that can be said"
    elif key == "address" and not PLAIN.fullmatch(str(value)):
        wanted = "plain words with single spaces"
    elif key == "suppressor" and value not in SUPPRESSORS:
        wanted = f"one of {', '.join(SUPPRESSORS)}"
    elif key in RANGES and isinstance(value, int | float):
        low, high = RANGES[key]
        wanted = "" if low <= value <= high else f"from {low} to {high}"
    if wanted:
        raise RunError(f"{where}: '{key}' must be {wanted}, not {shown(value)}. {THEN}")


def _country(value: str, where: str) -> str:
    """The code in lower case; the side the driver sits on must not hang on a slip of the key."""
    code = value.strip().lower()
    if code == "uk":
        return "gb"
    if not re.fullmatch("[a-z]{2}", code):
        raise RunError(
            f"{where}: 'country' must be a code of two letters such as 'gb' or 'us' "
            f"(ISO 3166-1), not {shown(value)}. {THEN}"
        )
    return code
