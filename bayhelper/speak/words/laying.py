"""Words about panel wipe and lay-down."""

from __future__ import annotations

from bayhelper.speak.durations import counted, duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.speak.warnings import subject_words
from bayhelper.speak.wording import (
    INSIST,
    counted_bare,
    in_time,
    part_name,
    parts_listed,
    says,
    sentence,
    told,
)
from bayhelper.terms.subjects import laying as say

SURFACES = {
    "single_stage": "single-stage",
    "wrap": "wrapped",
    "plastic": "bare plastic",
    "wheel": "a wheel",
}
"""Surfaces that are not spoken as they are written."""
BOND = "The layers would not bond."
"""Why the longest time to re-coat matters (common practice, no source)."""


def _guard(part: str, text: str, remedy: str) -> str:
    """What is wrong with the panel, what to do, and how to insist."""
    return told(f"{part} {text}", f"{remedy}, {INSIST}")


def _leaving_bare(saying: say.LeavingBareGuard, names: Names) -> str:
    bare = saying.neighbours
    what = f"bare to {names.panel(bare[0])}" if len(bare) == 1 else counted_bare(len(bare))
    return _guard(part_name(names, saying.panel), what, "lap it")


def _recoat_early(saying: say.RecoatEarlyGuard, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    return _guard(part, "too early for a layer", f"wait {duration_words(saying.off_s)}")


def _recoat_late(saying: say.RecoatLateGuard, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    return _guard(part, "too late to coat again", "see the sheet")


def _not_for_it(saying: say.NotForItGuard, names: Names) -> str:
    surface = SURFACES.get(saying.surface, saying.surface)
    return _guard(part_name(names, saying.panel), f"is {surface}, not on the sheet", "leave it")


def _surface_temp(saying: say.SurfaceTempGuard, names: Names) -> str:
    far = "too hot" if saying.hot else "too cold"
    return _guard(part_name(names, saying.panel), f"{far} by the sheet", "wait")


def _covered(saying: say.CoveredReply, names: Names) -> str:
    on = "on, all round" if saying.all_round else "on"
    part = part_name(names, saying.panel, saying.half)
    return told(f"{part} {on}", f"wipe {in_time(saying.wipe_in_s)}")


def _lapped_all(saying: say.LappedAllReply, names: Names) -> str:
    done = f"{part_name(names, saying.panel)} lapped all round"
    return told(done, f"not to {names.panel(saying.neighbour)}" if saying.neighbour else "")


def _lapped(saying: say.LappedReply, names: Names) -> str:
    panel = part_name(names, saying.panel)
    return sentence(f"{panel} to {names.panel(saying.neighbour)} lapped")


def _no_seam(saying: say.NoSeamRefusal, names: Names) -> str:
    other = names.panel(saying.neighbour)
    return told(f"{part_name(names, saying.panel)} does not meet the {other}", "name a neighbour")


def _layer_open(saying: say.LayerOpenQuestion, names: Names) -> str:
    return f"{told(f'{parts_listed(names, saying.parts)} still open')} Start the next layer?"


def _laying(saying: say.LayingReply, names: Names) -> str:
    return sentence(f"{part_name(names, saying.panel, saying.half)} started")


def _clash(saying: say.ClashReply, names: Names) -> str:
    return sentence(f"careful, the {subject_words(saying.part, names)} comes due meanwhile")


SENTENCES = (
    says(
        say.PreppedReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel)} prepped"),
    ),
    says(
        say.TouchedReply,
        lambda saying, names: sentence(
            f"{part_name(names, saying.panel)} needs its panel wipe again"
        ),
    ),
    says(
        say.PrepStaleGuardRefusal,
        lambda saying, names: _guard(
            part_name(names, saying.panel), "panel wipe is stale", "wipe it again"
        ),
        why="Dust and oil have settled since.",
    ),
    says(
        say.NotPreppedGuard,
        lambda saying, names: _guard(
            part_name(names, saying.panel), "has no panel wipe", "wipe it"
        ),
        why="The coating must meet bare clear coat.",
    ),
    says(say.LeavingBareGuard, _leaving_bare, why="A bare strip stays without protection."),
    says(say.RecoatEarlyGuard, _recoat_early, why="The layer below has not set."),
    says(say.RecoatLateGuard, _recoat_late, why=BOND),
    says(say.NotForItGuard, _not_for_it, why="It may not bond, or change the look."),
    says(
        say.WouldSweatGuard,
        lambda saying, names: _guard(part_name(names, saying.panel), "may sweat", "warm it"),
        why="Water under a coating spoils it.",
    ),
    says(say.SurfaceTempGuard, _surface_temp, why="It would set too fast or too slowly."),
    says(say.NoCoatingSheetRefusal, "The plan names no coating. Choose another plan."),
    says(say.LayingReply, _laying),
    says(say.CoveredReply, _covered),
    says(say.ClashReply, _clash),
    says(say.LappedAllReply, _lapped_all),
    says(say.LappedReply, _lapped),
    says(say.NoSeamRefusal, _no_seam),
    says(
        say.NoSuchLayerRefusal,
        lambda saying, _: sentence(f"the plan has {counted(saying.layers, 'layer')}"),
    ),
    says(say.LayerOpenQuestion, _layer_open, why="A wet panel cannot wait."),
    says(say.LayerReply, lambda saying, _: sentence(f"layer {number_words(saying.layer)}")),
)
"""What is said while product goes on."""
