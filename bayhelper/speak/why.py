"""Why a thing is so, in one clause: what the teaching level adds to guards and reminders.

Facts of the trade: common practice, no source. What is urgent has no reason here: there is no time
for one.
"""

from __future__ import annotations

from bayhelper.speak.reply_words import text_of, texts_of
from bayhelper.terms.effects import Say

BY_FLAG = {
    "matte": "Polish makes matte paint shine.",
    "wrapped": "Compound spoils the wrap.",
    "thin": "Little clear coat is left to spend.",
    "plastic": "The machine smears bare plastic.",
}
"""Why a panel that was flagged is left alone."""
WHY = {
    # guards, refusals and questions
    "dirty_pad": "Old residue scours the paint.",
    "not_prepped": "The coating must meet bare clear coat.",
    "prep_stale_guard": "Dust and oil have settled since.",
    "leaving_bare": "A bare strip stays without protection.",
    "not_for_it": "It may not bond, or change the look.",
    "would_sweat": "Water under a coating spoils it.",
    "surface_temp": "It would set too fast or too slowly.",
    "recoat_early": "The layer below has not set.",
    "recoat_late": "The layers would not bond.",
    "not_buffed": "High spots hide until it is buffed.",
    "no_reading_possible": "The gauge needs metal beneath.",
    "pause_open": "A panel's clock never stops.",
    "layer_open": "A wet panel cannot wait.",
    "close_open": "It cannot be taken back.",
    "close_sure": "It cannot be taken back.",
    "near_dew_point": "Water under a coating spoils it.",
    "outside_sheet": "Times are less sure there.",
    # reminders
    "wipe_now": "Later it grabs.",
    "recoat_open": "The layer below has set enough.",
    "recoat_closing": "Later the layers do not bond.",
    "recoat_missed": "The layers would not bond.",
    "dwell_due": "It must not dry on.",
    "look_again": "After cure only polishing removes them.",
    "pad_due": "A loaded pad cuts unevenly.",
    "bare_seams": "Once set, a bare strip stays bare.",
    "towels_due": "Cured product in a towel scratches.",
    "residue_due": "It gets harder to wipe.",
    "prep_stale": "Dust and oil settle again.",
    "air_stale": "Windows are reckoned with it.",
}
"""The reason by topic."""


def why(say: Say) -> str:
    """The reason for a guard or a reminder; '' when there is none, or several are said at once."""
    if say.topic == "gentle_panel":
        return BY_FLAG.get(text_of(say, "flag"), "")
    if len(texts_of(say, "alerts")) > 1:
        return ""
    return WHY.get(say.topic, "")
