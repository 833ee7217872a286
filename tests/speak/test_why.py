"""The teaching level: one clause of why, where there is time for it."""

from __future__ import annotations

import pytest
from bayhelper.speak.why import BY_FLAG, WHY, why

from bayhelper.decide.due.deadlines import URGENCY
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.durations import spoken_s
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import SENTENCES, words
from bayhelper.terms.effects import Say
from bayhelper.terms.saying import Urgency

NAMES = Names(load_body("saloon"), "uk")
GUARDS = {"dirty_pad", "not_prepped", "prep_stale_guard", "leaving_bare"}
LONGEST_S = 2.75
"""A reason takes no longer than about a sentence does."""


def alert(*kinds: str) -> Say:
    count = len(kinds)
    params = {
        "alerts": kinds,
        "subjects": ("roof", "bonnet")[:count],
        "due_in_s": (0.0,) * count,
        "left_s": (60.0,) * count,
    }
    return Say(kinds[0], params, kind="alert")


def test_every_guard_and_every_spoken_reminder_has_its_reason():
    assert set(WHY) <= set(SENTENCES)
    assert set(WHY) >= GUARDS
    reminders = {kind for kind in URGENCY if URGENCY[kind] < Urgency.URGENT} - {"trial_ready"}
    assert set(WHY) & set(URGENCY) == reminders


def test_every_flag_that_asks_for_insisting_has_its_reason():
    for flag in ("matte", "wrapped", "thin"):
        say = Say("gentle_panel", {"panel": "roof", "flag": flag}, kind="refusal")
        assert words(say, NAMES, "teaching").endswith(BY_FLAG[flag])


@pytest.mark.parametrize("reason", sorted({*WHY.values(), *BY_FLAG.values()}))
def test_a_reason_is_one_short_clause(reason):
    assert reason[0].isupper() and reason.endswith(".") and reason.count(".") == 1
    assert spoken_s(reason) <= LONGEST_S, reason


def test_reasons_are_added_only_when_teaching():
    say = Say("dirty_pad", {}, kind="refusal")
    plain = "Pad is dirty. Clean it, or say do it anyway."
    assert words(say, NAMES) == words(say, NAMES, "normal") == words(say, NAMES, "quiet") == plain
    assert words(say, NAMES, "teaching") == f"{plain} Old residue scours the paint."
    assert words(alert("wipe_now"), NAMES, "teaching") == "Roof. Wipe it off now. Later it grabs."


def test_what_is_urgent_or_many_has_no_time_for_reasons():
    for kinds in (("closing",), ("overdue",), ("dwell_over",), ("wipe_now", "wipe_now")):
        assert why(alert(*kinds)) == ""
        assert words(alert(*kinds), NAMES, "teaching") == words(alert(*kinds), NAMES)
