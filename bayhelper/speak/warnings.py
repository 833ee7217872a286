"""The sentences of the alerts: the panel first, then what, then how long.

An alert may stand for several that fell due together; its parameters hold all of them, the most
urgent first, as tuples of one length: `alerts`, `subjects`, `due_in_s`, `left_s`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bayhelper.speak.durations import counted, duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.terms.effects import Say, Value

AGENTS = {
    "pre_rinse_foam": "Foam",
    "iron_remover": "Iron remover",
    "tar_remover": "Tar remover",
}
NOW_S = 10.0
"""What is due within this time, or was due so long ago, is due now."""


@dataclass(frozen=True)
class Due:
    """One of the alerts in a sentence."""

    alert: str
    """Kind."""
    name: str
    """Spoken name of what it is about."""
    due_in_s: float
    """Seconds until it is due; negative when it was."""
    left_s: float
    """Seconds until it is too late."""


def _texts(value: Value | None) -> tuple[str, ...]:
    return tuple(str(item) for item in value) if isinstance(value, tuple) else ()


def _seconds(value: Value | None) -> tuple[float, ...]:
    return tuple(float(item) for item in value) if isinstance(value, tuple) else ()


def subject_words(subject: str, names: Names) -> str:
    """Spoken name of a part ('bonnet left half'), an agent, or the pad."""
    if subject in AGENTS:
        return AGENTS[subject].lower()
    if subject == "pad":
        return subject
    panel, _, half = subject.partition("/")
    return f"{names.panel(panel)} {half} half" if half else names.panel(panel)


def dues(say: Say, names: Names) -> tuple[Due, ...]:
    """The alerts in a sentence, the most urgent first."""
    params = say.params
    rows = zip(
        _texts(params.get("alerts")),
        _texts(params.get("subjects")),
        _seconds(params.get("due_in_s")),
        _seconds(params.get("left_s")),
        strict=True,
    )
    return tuple(
        Due(alert, subject_words(subject, names), due_in_s, left_s)
        for alert, subject, due_in_s, left_s in rows
    )


def _when(due: Due) -> str:
    """'now', or 'in fifteen seconds' for what was named a little early."""
    return f"in {duration_words(due.due_in_s)}" if due.due_in_s > NOW_S else "now"


def _list(names: list[str]) -> str:
    if len(names) > 3:
        names = [*names[:2], f"{number_words(len(names) - 2)} more"]
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."


def _closing(due: Due) -> str:
    return f"closing, {duration_words(due.left_s)}"


def _overdue(due: Due) -> str:
    if due.due_in_s > NOW_S:
        return f"closing, {duration_words(due.due_in_s)}"
    return "overdue" if due.due_in_s > -NOW_S else f"overdue by {duration_words(due.due_in_s)}"


def _dwell_over(due: Due) -> str:
    return f"drying, rinse it off {_when(due)}"


def _recoat_closing(due: Due) -> str:
    return f"next layer within {duration_words(due.left_s)}"


THEN: dict[str, Callable[[Due], str]] = {
    "trial_ready": lambda due: "try a wipe",
    "wipe_now": lambda due: f"due {_when(due)}",
    "closing": _closing,
    "overdue": _overdue,
    "recoat_open": lambda due: "ready for the next layer",
    "recoat_closing": _recoat_closing,
    "recoat_missed": lambda due: "too late for the next layer",
    "dwell_due": lambda due: f"rinse {_when(due)}",
    "dwell_over": _dwell_over,
    "look_again": lambda due: "look for high spots",
    "pad_due": lambda due: "clean it",
    "bare_seams": lambda due: "seams are bare",
    "residue_due": lambda due: "residue waits",
    "prep_stale": lambda due: "panel wipe is stale",
}
"""What is said of an alert that follows another."""


def _first(say: Say, names: Names, same: list[Due]) -> str:
    """The sentence about the most urgent alert, and others of its kind."""
    first = same[0]
    subjects = _list([due.name for due in same])
    several = len(same) > 1
    if first.alert == "wipe_now":
        it = "them" if several else "it"
        return f"{_sentence(subjects)} Wipe {it} off {_when(first)}."
    if first.alert == "dwell_due":
        return f"{_sentence(subjects)} Rinse {'them' if several else 'it'} off {_when(first)}."
    if first.alert == "look_again":
        return f"{_sentence(subjects)} Look again for high spots."
    if first.alert == "pad_due":
        return "Pad. Clean it now."
    if first.alert == "bare_seams" and not several:
        bare = _texts(say.params.get("neighbours"))
        if len(bare) == 1:
            return f"{_sentence(subjects)} Seam to {names.panel(bare[0])} is bare."
        return f"{_sentence(subjects)} {_sentence(counted(len(bare), 'seam') + ' bare')}"
    if first.alert == "residue_due":
        return f"{_sentence(subjects)} Residue waits to be wiped."
    if first.alert == "trial_ready":
        return f"{_sentence(subjects)} Try a wipe."
    if first.alert in ("recoat_open", "recoat_missed", "prep_stale", "bare_seams"):
        return f"{_sentence(subjects)} {_sentence(THEN[first.alert](first))}"
    if first.alert == "recoat_closing":
        return f"{_sentence(subjects)} {_sentence(_recoat_closing(first))}"
    return _sentence(f"{first.name} {THEN[first.alert](first)}")


ONE_BY_ONE = frozenset({"closing", "overdue"})
"""Kinds in which each panel has its own time to be told."""


def warning(say: Say, names: Names) -> str:
    """One sentence for one alert or for several: the most urgent in full, the next in short."""
    all_due = dues(say, names)
    if not all_due:
        return ""
    first = all_due[0]
    same = [due for due in all_due if due.alert == first.alert]
    if first.alert in ONE_BY_ONE:
        same = same[:1]
    rest = [due for due in all_due if due not in same]
    text = _first(say, names, same)
    if not rest:
        return text
    then = f"then {rest[0].name}, {THEN[rest[0].alert](rest[0])}"
    more = len(rest) - 1
    return f"{text} {_sentence(then + (f', and {number_words(more)} more' if more else ''))}"


WARNINGS: dict[str, Callable[[Say, Names], str]] = dict.fromkeys(THEN, warning)
"""The sentence of every alert, by topic."""
