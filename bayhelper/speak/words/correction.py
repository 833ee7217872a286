"""Words about machine correction."""

from __future__ import annotations

from bayhelper.speak.durations import duration_words
from bayhelper.speak.names import Names
from bayhelper.speak.wording import INSIST, part_name, says, sentence, told
from bayhelper.speak.words.surfaces import flag_name
from bayhelper.terms.subjects import correction as say

LEFT_ALONE = {
    "matte": "Polish makes matte paint shine.",
    "wrapped": "Compound spoils the wrap.",
    "thin": "Little clear coat is left to spend.",
    "plastic": "The machine smears bare plastic.",
}
"""Why a panel that was flagged is left alone (common practice, no source)."""
MACHINED_WITH_CARE = {
    "repainted": "repainted, be gentle",
    "single_stage": "colour comes off on the pad",
}
"""What is told of a surface when the machine is laid on (common practice, no source)."""


def _gentle(saying: say.GentlePanelGuard, names: Names) -> str:
    panel = part_name(names, saying.panel)
    return told(f"{panel} is {flag_name(saying.flag)}", f"leave it, {INSIST}")


def _machining(saying: say.MachiningReply, names: Names) -> str:
    care = MACHINED_WITH_CARE.get(saying.flag, "")
    return told(f"{part_name(names, saying.panel)} started", care)


def _residue_left(saying: say.ResidueLeftReply, names: Names) -> str:
    panel = part_name(names, saying.panel)
    return told(f"{panel} residue", f"wipe within {duration_words(saying.wipe_in_s)}")


SENTENCES = (
    says(say.GentlePanelGuard, _gentle, why=lambda saying: LEFT_ALONE.get(saying.flag, "")),
    says(say.MachiningReply, _machining),
    says(
        say.NotMachiningRefusal,
        lambda saying, names: told(part_name(names, saying.panel), "not being machined"),
    ),
    says(
        say.MachinedReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel)} machined"),
    ),
    says(
        say.DirtyPadGuard,
        f"Pad is dirty. Clean it, {INSIST}.",
        why="Old residue scours the paint.",
    ),
    says(say.PadCleanedReply, "Pad clean."),
    says(say.PadChangedReply, "New pad."),
    says(say.ResidueLeftReply, _residue_left),
    says(
        say.NoResidueRefusal,
        lambda saying, names: told(part_name(names, saying.panel), "no residue noted there"),
    ),
    says(
        say.ResidueWipedReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel)} residue off"),
    ),
)
"""What is said about machine correction."""
