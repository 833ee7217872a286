"""Words about air, surfaces and film."""

from __future__ import annotations

from bayhelper.speak.names import Names
from bayhelper.speak.wording import (
    decimal_words,
    in_time,
    microns,
    part_name,
    says,
    sentence,
    told,
)
from bayhelper.terms.subjects import surfaces as say

FLAGS = {"thin": "thin paint", "single_stage": "single-stage paint", "plastic": "bare plastic"}
"""Flags that are not spoken as they are written."""
CARE = {
    "repainted": "be gentle, try the panel wipe in a corner",
    "thin": "measure before you polish",
    "matte": "no machine on it",
    "wrapped": "no compound, try the panel wipe in a corner",
    "single_stage": "its colour comes off on the pad",
    "plastic": "no machine on it, try the panel wipe in a corner",
}
"""What a surface asks for (common practice, no source)."""


def flag_name(flag: str) -> str:
    """What a surface is, as it is spoken."""
    return FLAGS.get(flag, flag)


def _surface(names: Names, panel: str) -> str:
    return part_name(names, panel) or "surface"


def _humidity(saying: say.HumidityReply, names: Names) -> str:
    return sentence(f"humidity {decimal_words(saying.humidity_percent)} percent")


def _panel_temp(saying: say.PanelTempReply, names: Names) -> str:
    return sentence(f"{_surface(names, saying.panel)} {decimal_words(saying.temp_c)} degrees")


def _near_dew_point(saying: say.NearDewPointReply, names: Names) -> str:
    part = _surface(names, saying.panel)
    if saying.margin_c <= 0:
        return sentence(f"{part} is below the dew point, it will sweat")
    margin = decimal_words(saying.margin_c)
    return sentence(f"{part} only {margin} degrees above the dew point")


def _outside_sheet(saying: say.OutsideSheetReply, names: Names) -> str:
    subject, _, what = saying.what.partition(" ")
    part = part_name(names, saying.panel) if subject == "panel" else ""
    return sentence(f"{part or subject} {what} by the sheet")


def _retimed(saying: say.RetimedReply, names: Names) -> str:
    wipe = in_time(saying.wipe_in_s)
    part = part_name(names, saying.panel, saying.half)
    return told("the air has changed", f"{part} now {wipe}".replace("now now", "now"))


def _film(saying: say.FilmReply, names: Names) -> str:
    mean = f"mean {decimal_words(saying.mean_um)}" if saying.count > 1 else ""
    over = ", wrap included" if saying.wrapped else ""
    return told(f"{part_name(names, saying.panel)} {microns(saying.film_um)}{over}", mean)


def _flagged(saying: say.FlaggedReply, names: Names) -> str:
    panel = part_name(names, saying.panel)
    return told(f"{panel} {flag_name(saying.flag)}", CARE.get(saying.flag, ""))


SENTENCES = (
    says(say.AirReply, lambda saying, _: sentence(f"air {decimal_words(saying.temp_c)} degrees")),
    says(say.HumidityReply, _humidity),
    says(say.HumidityImpossibleRefusal, "Humidity cannot be that. Read it again."),
    says(say.TempImpossibleRefusal, "The temperature cannot be that. Read it again."),
    says(say.FilmImpossibleRefusal, "A film cannot be that. Read it again."),
    says(say.PanelTempReply, _panel_temp),
    says(say.NearDewPointReply, _near_dew_point, why="Water under a coating spoils it."),
    says(say.OutsideSheetReply, _outside_sheet, why="Times are less sure there."),
    says(say.RetimedReply, _retimed),
    says(
        say.NoReadingPossibleRefusal,
        lambda saying, names: told(
            part_name(names, saying.panel), "no gauge reading on that material"
        ),
        why="The gauge needs metal beneath.",
    ),
    says(say.FilmReply, _film),
    says(say.FlaggedReply, _flagged),
)
"""What is said about air, surfaces and film."""
