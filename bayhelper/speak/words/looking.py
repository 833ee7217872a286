"""Words about looking over and what is found."""

from __future__ import annotations

from bayhelper.speak.durations import duration_words
from bayhelper.speak.names import Names
from bayhelper.speak.wording import part_name, says, sentence, told
from bayhelper.terms.subjects import looking as say

OLD_S = 60.0
"""A film younger than this is of no age: nobody can be quicker (chosen, no source)."""


def _found(saying: say.FoundHighSpotReply | say.FoundRunReply, names: Names, what: str) -> str:
    where = f", {saying.place.replace('_', ' ')}" if saying.place else ""
    aged = saying.age_s >= OLD_S and not saying.known
    old = f"{duration_words(saying.age_s)} old, " if aged else ""
    panel = part_name(names, saying.panel)
    return told(f"{panel}, {what}{where}", f"{old}level it straight away")


def _found_late(saying: say.FoundLateReply, names: Names) -> str:
    found = saying.found.replace("_", " ")
    age = duration_words(saying.age_s)
    return told(
        f"{part_name(names, saying.panel)}, {found}, {age} old", "past the sheet, send it back"
    )


SENTENCES = (
    says(
        say.NotBuffedRefusal,
        lambda saying, names: told(part_name(names, saying.panel), "buff it first"),
        why="High spots hide until it is buffed.",
    ),
    says(
        say.CheckedReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel)} looked over"),
    ),
    says(say.FoundHighSpotReply, lambda saying, names: _found(saying, names, "high spot")),
    says(say.FoundRunReply, lambda saying, names: _found(saying, names, "run")),
    says(
        say.FoundWaterReply,
        lambda saying, names: told(
            f"{part_name(names, saying.panel)}, water", "blot it at once, do not rub"
        ),
    ),
    says(say.FoundLateReply, _found_late),
    says(
        say.NoDefectRefusal,
        lambda saying, names: told(part_name(names, saying.panel), "nothing noted there"),
    ),
    says(
        say.DefectFixedReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel)} fixed"),
    ),
    says(
        say.SentBackReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel)} back to correction"),
    ),
)
"""What is said about looking over."""
