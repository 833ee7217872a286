"""The sentences about panel wipe and coating."""

from __future__ import annotations

from bayhelper.speak.durations import counted, duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.speak.reply_words import (
    INSIST,
    Sentence,
    counted_bare,
    in_time,
    listed,
    number_of,
    panel_says,
    panel_then,
    part_name,
    parts_listed,
    sentence,
    text_of,
    texts_of,
    told,
)
from bayhelper.speak.warnings import subject_words
from bayhelper.terms.effects import Say

OLD_S = 60.0
"""A film younger than this is of no age."""
DAY_S = 86_400.0


def _guard(text: str, remedy: str) -> Sentence:
    """What is wrong with the panel, what to do, and how to insist."""
    return lambda say, names: told(f"{part_name(say, names)} {text}", f"{remedy}, {INSIST}")


def _leaving_bare(say: Say, names: Names) -> str:
    bare = texts_of(say, "neighbours")
    what = f"bare to {names.panel(bare[0])}" if len(bare) == 1 else counted_bare(len(bare))
    return told(f"{part_name(say, names)} {what}", f"lap it, {INSIST}")


def _recoat_early(say: Say, names: Names) -> str:
    wait = f"wait {duration_words(number_of(say, 'off_s'))}"
    return told(f"{part_name(say, names)} too early for a layer", f"{wait}, {INSIST}")


def _keep(say: Say, names: Names) -> str:
    for_s = number_of(say, "for_s")
    days = for_s > 2 * DAY_S
    long = counted(round(for_s / DAY_S), "day") if days else duration_words(for_s)
    return sentence(f"{text_of(say, 'rule').lower()} for {long}")


def _not_for_it(say: Say, names: Names) -> str:
    surface = SURFACES.get(text_of(say, "surface"), text_of(say, "surface"))
    return told(f"{part_name(say, names)} is {surface}, not on the sheet", f"leave it, {INSIST}")


def _surface_temp(say: Say, names: Names) -> str:
    far = "too hot" if say.params.get("hot") else "too cold"
    return told(f"{part_name(say, names)} {far} by the sheet", f"wait, {INSIST}")


def _before_first(say: Say, names: Names) -> str:
    wanted = [MISSING[name] for name in texts_of(say, "missing")]
    return told("prime the applicator", f"tell me the {listed(wanted)}" if wanted else "")


def _batch(say: Say, names: Names) -> str:
    figures = [number_words(int(digit)) for digit in text_of(say, "batch")]
    return sentence(f"batch {' '.join(figures)}")


def _lapped_all(say: Say, names: Names) -> str:
    spared = text_of(say, "neighbour")
    done = f"{part_name(say, names)} lapped all round"
    return told(done, f"not to {names.panel(spared)}") if spared else sentence(done)


def _covered(say: Say, names: Names) -> str:
    on = "on, all round" if say.params.get("all_round") else "on"
    return told(f"{part_name(say, names)} {on}", f"wipe {in_time(number_of(say, 'wipe_in_s'))}")


def _lapped(say: Say, names: Names) -> str:
    return sentence(f"{part_name(say, names)} to {names.panel(text_of(say, 'neighbour'))} lapped")


def _no_seam(say: Say, names: Names) -> str:
    other = names.panel(text_of(say, "neighbour"))
    return told(f"{part_name(say, names)} does not meet the {other}", "name a neighbour")


def _which_panel(say: Say, names: Names) -> str:
    first, second = texts_of(say, "parts")
    asked = f"{subject_words(first, names)} or {subject_words(second, names)}?"
    return asked[:1].upper() + asked[1:]


def _trial_wet(say: Say, names: Names) -> str:
    again = in_time(number_of(say, "again_in_s"))
    return told(f"{part_name(say, names)} wet", f"try again {again}")


def _trial_clean(say: Say, names: Names) -> str:
    after = duration_words(number_of(say, "covered_for_s"))
    return told(f"{part_name(say, names)} clean after {after}", "wipe it off now")


def _day_figure(say: Say, names: Names) -> str:
    earliest, best = (duration_words(number_of(say, key)) for key in ("earliest_s", "best_s"))
    return sentence(f"today from {earliest}, best at {best}")


def _found(kind: str) -> Sentence:
    def said(say: Say, names: Names) -> str:
        place = text_of(say, "place").replace("_", " ")
        where = f", {place}" if place else ""
        age_s = number_of(say, "age_s")
        old = (
            f"{duration_words(age_s)} old, "
            if age_s >= OLD_S and not say.params.get("known")
            else ""
        )
        return told(f"{part_name(say, names)}, {kind}{where}", f"{old}level it straight away")

    return said


def _found_water(say: Say, names: Names) -> str:
    return told(f"{part_name(say, names)}, water", "blot it at once, do not rub")


def _found_late(say: Say, names: Names) -> str:
    kind = text_of(say, "kind").replace("_", " ")
    age = duration_words(number_of(say, "age_s"))
    return told(f"{part_name(say, names)}, {kind}, {age} old", "past the sheet, send it back")


def _more_time(say: Say, names: Names) -> str:
    return sentence(f"{part_name(say, names)} {duration_words(number_of(say, 'extra_s'))} more")


def _layer_refused(say: Say, names: Names) -> str:
    return sentence(f"the plan has {counted(int(number_of(say, 'layers')), 'layer')}")


def _layer(say: Say, names: Names) -> str:
    return sentence(f"layer {number_words(int(number_of(say, 'layer')))}")


def _layer_open(say: Say, names: Names) -> str:
    return f"{told(f'{parts_listed(say, names)} still open')} Start the next layer?"


def _fits(say: Say, names: Names) -> str:
    start = f"start the {subject_words(text_of(say, 'part'), names)}"
    in_s, first = number_of(say, "in_s"), text_of(say, "first")
    if in_s < SOON_S:
        return sentence(f"yes, {start} now")
    before = f"the {subject_words(first, names)} comes due first" if first else ""
    return told(f"{start} {in_time(in_s)}", before)


def _level_first(say: Say, names: Names) -> str:
    return told("not yet", f"level the {subject_words(text_of(say, 'part'), names)} first")


def _clash(say: Say, names: Names) -> str:
    return told(f"careful, the {subject_words(text_of(say, 'part'), names)} comes due meanwhile")


def _all_off(say: Say, names: Names) -> str:
    parts = [subject_words(part, names) for part in texts_of(say, "parts")]
    return sentence(f"{', then '.join(parts)}") if parts else "Nothing is open."


SOON_S = 10.0
"""A start within so much is said to be now."""

SURFACES = {
    "single_stage": "single-stage",
    "wrap": "wrapped",
    "plastic": "bare plastic",
    "wheel": "a wheel",
}
"""Surfaces that are not spoken as they are written."""
MISSING = {"batch": "batch number", "surface": "surface temperature"}

COATING_REPLIES: dict[str, Sentence] = {
    "prepped": panel_says("prepped"),
    "touched": panel_says("needs its panel wipe again"),
    "prep_stale_guard": _guard("panel wipe is stale", "wipe it again"),
    "not_prepped": _guard("has no panel wipe", "wipe it"),
    "leaving_bare": _leaving_bare,
    "recoat_early": _recoat_early,
    "recoat_late": _guard("too late to coat again", "see the sheet"),
    "not_for_it": _not_for_it,
    "would_sweat": _guard("may sweat", "warm it"),
    "surface_temp": _surface_temp,
    "before_first": _before_first,
    "applicator_fresh": lambda say, names: "Fresh applicator. Prime it.",
    "applicator_stood": lambda say, names: told(
        f"the applicator has stood for {duration_words(number_of(say, 'stood_s'))}",
        "take a fresh one",
    ),
    "applicator_changed": lambda say, names: "Fresh applicator.",
    "towels_changed": lambda say, names: "Fresh towels.",
    "batch": _batch,
    "batch_impossible": lambda say, names: "A batch number has two digits or more. Read it again.",
    "no_coating_sheet": lambda say, names: "The plan names no coating. Choose another plan.",
    "laying": panel_says("started"),
    "covered": _covered,
    "fits": _fits,
    "level_first": _level_first,
    "clash": _clash,
    "all_off": _all_off,
    "lapped_all": _lapped_all,
    "keep": _keep,
    "lapped": _lapped,
    "no_seam": _no_seam,
    "nothing_to_try": panel_then("nothing covered to try"),
    "which_panel": _which_panel,
    "trial_wet": _trial_wet,
    "trial_clean": _trial_clean,
    "trial_grabbing": panel_says("grabbing, wipe it off now"),
    "day_figure": _day_figure,
    "trials_disagree": lambda say, names: "Trials disagree. The window is wider again.",
    "not_covered": panel_then("no product on it to take off"),
    "levelled": panel_says("levelled"),
    "buffed": panel_says("buffed"),
    "not_buffed": panel_then("buff it first"),
    "checked": panel_says("looked over"),
    "found_high_spot": _found("high spot"),
    "found_run": _found("run"),
    "found_water": _found_water,
    "found_late": _found_late,
    "no_defect": panel_then("nothing noted there"),
    "defect_fixed": panel_says("fixed"),
    "sent_back": panel_says("back to correction"),
    "more_time": _more_time,
    "no_such_layer": _layer_refused,
    "layer_open": _layer_open,
    "layer": _layer,
}
"""The sentence of every topic about panel wipe and coating."""
