"""Words that answer questions about the job."""

from __future__ import annotations

from bayhelper.speak.durations import duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.speak.warnings import subject_words
from bayhelper.speak.wording import (
    in_time,
    listed,
    part_name,
    parts_listed,
    says,
    sentence,
    stage_name,
    told,
)
from bayhelper.terms.subjects import asking as say

SOON_S = 10.0
"""A start within so much is said to be now (chosen, no source)."""
AT_BEST_S = 5.0
"""So near to the best instant a part is to be wiped now (chosen, no source)."""


def _elapsed(saying: say.ElapsedReply, names: Names) -> str:
    doing = "laying for" if saying.laying else "has had"
    part = part_name(names, saying.panel, saying.half)
    return sentence(f"{part} {doing} {duration_words(saying.had_s)}")


def _remaining(saying: say.RemainingReply, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    if saying.latest_in_s <= 0:
        return sentence(f"{part} overdue by {duration_words(saying.latest_in_s)}")
    if saying.best_in_s < AT_BEST_S:
        return told(f"{part} now", f"{duration_words(saying.latest_in_s)} left")
    return told(f"{part} {in_time(saying.best_in_s)}", f"latest {in_time(saying.latest_in_s)}")


def _seams(saying: say.BareReply | say.UnwipedReply, names: Names, how: str) -> str:
    panel = part_name(names, saying.panel)
    if not saying.seams:
        return told(panel, f"no seam known {how}")
    pairs = [seam.split("+") for seam in saying.seams]
    if panel:
        others = [names.panel(b if a == saying.panel else a) for a, b in pairs]
        return sentence(f"{panel} {how} to {listed(others)}")
    first = " to ".join(names.panel(side) for side in pairs[0])
    if len(pairs) == 1:
        return sentence(f"{first} is {how}")
    return told(f"{first} {how}", f"{number_words(len(pairs) - 1)} more")


def _open(saying: say.OpenReply, names: Names) -> str:
    parts = parts_listed(names, saying.parts)
    return sentence(f"{parts} open") if parts else "No panel is open."


def _where(saying: say.WhereReply, names: Names) -> str:
    stage = stage_name(saying.stage)
    paused = ", paused" if saying.paused else ""
    layered = saying.layer > 1 and saying.stage == "coating"
    layer = f", layer {number_words(saying.layer)}" if layered else ""
    done, total = number_words(saying.done), number_words(saying.total)
    return told(f"{stage}{layer}{paused}", f"{done} of {total} panels" if saying.total else "")


def _next_wipe(saying: say.NextWipeReply, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    return told(part, f"wipe {in_time(saying.in_s)}")


def _next_stage(saying: say.NextStageReply, names: Names) -> str:
    if not saying.stage:
        return "Close the job when it is done."
    return sentence(f"next is {stage_name(saying.stage)}")


def _fits(saying: say.FitsReply, names: Names) -> str:
    start = f"start the {subject_words(saying.part, names)}"
    if saying.in_s < SOON_S:
        return sentence(f"yes, {start} now")
    first = f"the {subject_words(saying.first, names)} comes due first" if saying.first else ""
    return told(f"{start} {in_time(saying.in_s)}", first)


def _level_first(saying: say.LevelFirstReply, names: Names) -> str:
    return told("not yet", f"level the {subject_words(saying.part, names)} first")


def _all_off(saying: say.AllOffReply, names: Names) -> str:
    parts = [subject_words(part, names) for part in saying.parts]
    return sentence(", then ".join(parts)) if parts else "Nothing is open."


SENTENCES = (
    says(
        say.NoClockReply,
        lambda saying, names: told(part_name(names, saying.panel), "no clock running"),
    ),
    says(say.ElapsedReply, _elapsed),
    says(say.RemainingReply, _remaining),
    says(say.BareReply, lambda saying, names: _seams(saying, names, "bare")),
    says(say.UnwipedReply, lambda saying, names: _seams(saying, names, "unwiped")),
    says(say.OpenReply, _open),
    says(say.WhereReply, _where),
    says(say.NextWipeReply, _next_wipe),
    says(
        say.NextPanelReply,
        lambda saying, names: told(part_name(names, saying.panel), stage_name(saying.stage)),
    ),
    says(
        say.NextRecoatReply,
        lambda saying, names: told(
            part_name(names, saying.panel), f"next layer {in_time(saying.in_s)}"
        ),
    ),
    says(
        say.NextLayerReply,
        lambda saying, _: sentence(f"next is layer {number_words(saying.layer)}"),
    ),
    says(say.NextStageReply, _next_stage),
    says(say.FitsReply, _fits),
    says(say.LevelFirstReply, _level_first),
    says(say.AllOffReply, _all_off),
    says(say.AgainReply, lambda saying, _: saying.text or "Nothing said yet."),
)
"""What answers a question."""
