"""The teaching level: one clause of why, where there is time for it."""

from __future__ import annotations

import pytest

from bayhelper.decide.due.deadlines import ROWS
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.durations import spoken_s
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import SENTENCES, words
from bayhelper.speak.words.correction import LEFT_ALONE
from bayhelper.terms.saying import Urgency
from bayhelper.terms.subjects.correction import DirtyPadGuard, GentlePanelGuard
from tests.speak.calling import alert, kinds, sample

NAMES = Names(load_body("saloon"), "uk")
LONGEST_S = 2.75
"""A reason takes no longer than about a sentence does."""
GUARDS = [kind for kind in kinds().values() if kind.__name__.endswith("Guard")]
REASONS = {
    *(kind.reason for kind in ROWS if kind.reason),
    *(SENTENCES[kind].why(sample(kind)) for kind in kinds().values()),
    *LEFT_ALONE.values(),
} - {""}


@pytest.mark.parametrize("guard", GUARDS, ids=lambda kind: kind.__name__)
def test_every_guard_has_its_reason(guard):
    plain = words(sample(guard), NAMES)
    assert words(sample(guard), NAMES, "teaching").removeprefix(plain).strip() in REASONS


def test_every_spoken_reminder_has_its_reason_and_nothing_urgent_has():
    for kind in ROWS:
        assert bool(kind.reason) == (kind.urgency < Urgency.URGENT and not kind.tone_only)


def test_every_flag_that_asks_for_insisting_has_its_reason():
    for flag in ("matte", "wrapped", "thin"):
        guard = GentlePanelGuard(panel="roof", flag=flag)
        assert words(guard, NAMES, "teaching").endswith(LEFT_ALONE[flag])


@pytest.mark.parametrize("reason", sorted(REASONS))
def test_a_reason_is_one_short_clause(reason):
    assert reason[0].isupper() and reason.endswith(".") and reason.count(".") == 1
    assert spoken_s(reason) <= LONGEST_S, reason


def test_reasons_are_added_only_when_teaching():
    say, plain = DirtyPadGuard(), "Pad is dirty. Clean it, or say do it anyway."
    assert words(say, NAMES) == words(say, NAMES, "normal") == words(say, NAMES, "quiet") == plain
    assert words(say, NAMES, "teaching") == f"{plain} Old residue scours the paint."
    due = alert(("wipe_now", "roof", 0))
    assert words(due, NAMES, "teaching") == "Roof. Wipe it off now. Later it grabs."


def test_what_is_urgent_or_many_has_no_time_for_reasons():
    for kinds_of in (("closing",), ("overdue",), ("dwell_over",), ("wipe_now", "wipe_now")):
        rows = [
            (kind, panel, 0, 60) for kind, panel in zip(kinds_of, ("roof", "bonnet"), strict=False)
        ]
        assert words(alert(*rows), NAMES, "teaching") == words(alert(*rows), NAMES)
