"""The sentences of the alerts: the panel first, then what, then how long.

An alert may stand for several that fell due together, the most urgent first. Each kind has several
wordings, and the fullest that is short enough is said.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bayhelper.speak.durations import counted, duration_words, number_words, spoken_s
from bayhelper.speak.names import Names
from bayhelper.terms.saying import DueAlert

AGENTS = {
    "pre_rinse_foam": "Foam",
    "iron_remover": "Iron remover",
    "tar_remover": "Tar remover",
}
"""Removers and foam as they are spoken."""
NOW_S = 10.0
"""What is due within this time, or was due so long ago, is due now, seconds (chosen, no source)."""
SHORT_S = 95.0
"""The next layer has to go on at once when less time than this is left for it, seconds (chosen, no
source)."""
LONGEST_S = 2.5
"""No alert takes longer to say than this, seconds: what does not fit is said with fewer words
(chosen, no source)."""


@dataclass(frozen=True)
class NamedDue:
    """One of the alerts in a sentence."""

    alert: str
    """Kind."""
    name: str
    """Spoken name of what it is about."""
    due_in_s: float
    """Seconds until it is due; negative when it was."""
    left_s: float
    """Seconds until it is too late."""


def subject_words(subject: str, names: Names) -> str:
    """Spoken name of a part ('bonnet left half'), an agent, or the pad."""
    if subject in AGENTS:
        return AGENTS[subject].lower()
    if subject in ("pad", "air", "towels"):
        return subject
    panel, _, half = subject.partition("/")
    return f"{names.panel(panel)} {half} half" if half else names.panel(panel)


def _dues(alert: DueAlert, names: Names) -> tuple[NamedDue, ...]:
    """The alerts in a sentence, the most urgent first."""
    return tuple(
        NamedDue(one.alert, subject_words(one.subject, names), one.due_in_s, one.left_s)
        for one in alert.called
    )


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."


def _shortest(*texts: str) -> str:
    """The first of the wordings, given the fullest first, that can be spoken in LONGEST_S."""
    return next((text for text in texts if spoken_s(text) <= LONGEST_S), texts[-1])


def _then(name: str, *acts: str) -> tuple[str, ...]:
    """Wordings that name the panel and stop: 'Roof. Wipe it off now.' and the like."""
    return tuple(f"{_sentence(name)} {_sentence(act[:1].upper() + act[1:])}" for act in acts)


def _wipe_now(due: NamedDue) -> tuple[str, ...]:
    if due.due_in_s > NOW_S:
        return _then(due.name, "wipe off soon")
    return _then(due.name, "wipe it off now", "wipe off now")


WOKE_LATE_S = 1.0
"""A loop wakes a little after the instant: 'one minute' must not become 'fifty seconds' by that.
Seconds (chosen, no source)."""


def _closing_in(name: str, seconds: float) -> tuple[str, ...]:
    left = duration_words(seconds if seconds < 20 else (seconds + WOKE_LATE_S) // 10 * 10)
    return (
        _sentence(f"{name} closing, {left}"),
        _sentence(f"{name}, {left}"),
        _sentence(f"{name} closing"),
    )


def _overdue(due: NamedDue) -> tuple[str, ...]:
    if due.due_in_s > NOW_S:
        return _closing_in(due.name, due.due_in_s)
    plain = _sentence(f"{due.name} overdue")
    if due.due_in_s > -NOW_S:
        return (plain,)
    return _sentence(f"{due.name} overdue by {duration_words(due.due_in_s)}"), plain


def _dwell_due(due: NamedDue) -> tuple[str, ...]:
    if due.due_in_s > NOW_S:
        return _then(due.name, "rinse it off soon")
    return _then(due.name, "rinse it off now")


def _recoat_closing(due: NamedDue) -> tuple[str, ...]:
    if due.left_s < SHORT_S:
        return _then(due.name, "recoat now")
    return _then(due.name, f"next layer in {duration_words(due.left_s)}", "recoat soon")


def _dwell_over(due: NamedDue) -> tuple[str, ...]:
    return (_sentence(f"{due.name} drying, rinse it off now"),)


def _named(*acts: str) -> Callable[[NamedDue], tuple[str, ...]]:
    """Wordings that name the subject, stop, and tell the act."""
    return lambda due: _then(due.name, *acts)


@dataclass(frozen=True)
class AlertWords:
    """The words of one kind of alert."""

    alone: Callable[[NamedDue], tuple[str, ...]]
    """Wordings where it stands by itself, the fullest first."""
    act: str
    """What is said of it among several, in two words."""


WORDS: dict[str, AlertWords] = {
    "trial_ready": AlertWords(_named("try a wipe"), "try a wipe"),
    "wipe_now": AlertWords(_wipe_now, "wipe"),
    "closing": AlertWords(lambda due: _closing_in(due.name, due.left_s), "closing"),
    "overdue": AlertWords(_overdue, "overdue"),
    "recoat_open": AlertWords(_named("ready for the next layer", "ready to recoat"), "recoat"),
    "recoat_closing": AlertWords(_recoat_closing, "recoat"),
    "recoat_missed": AlertWords(_named("too late for the next layer", "recoat missed"), "too late"),
    "dwell_due": AlertWords(_dwell_due, "rinse"),
    "dwell_over": AlertWords(_dwell_over, "rinse"),
    "look_again": AlertWords(_named("look again for high spots", "look again"), "look again"),
    "pad_due": AlertWords(_named("clean it now"), "dirty"),
    "bare_seams": AlertWords(_named("seams are bare"), "bare seams"),
    "towels_due": AlertWords(_named("turn or change", "change them"), "to change"),
    "residue_due": AlertWords(_named("residue waits to be wiped", "residue waits"), "residue"),
    "prep_stale": AlertWords(_named("prep is stale"), "stale"),
    "air_stale": AlertWords(_named("readings are old, read it again", "readings are old"), "old"),
}
"""The words of every kind of alert."""


def _act(due: NamedDue) -> str:
    early = due.alert == "overdue" and due.due_in_s > NOW_S
    return WORDS["closing" if early else due.alert].act


def _seams(alert: DueAlert, names: Names, due: NamedDue) -> tuple[str, ...]:
    bare = alert.neighbours
    count = f"{counted(len(bare), 'seam')} bare" if bare else "seams are bare"
    if len(bare) != 1:
        return _then(due.name, count)
    return _then(due.name, f"seam to {names.panel(bare[0])} is bare", count)


def _together(all_due: tuple[NamedDue, ...]) -> tuple[str, ...]:
    """Wordings for several: at most the two most urgent by name, the others counted."""
    first, second, rest = all_due[0], all_due[1], len(all_due) - 2
    act = _act(first)
    more = f" and {number_words(rest)} more" if rest else ""
    least = (
        _sentence(f"{first.name} {act}, {number_words(rest + 1)} more"),
        _sentence(f"{first.name} {act}, more"),
    )
    if all(_act(due) == act for due in all_due):
        both = f"{first.name}, {second.name}" if rest else f"{first.name} and {second.name}"
        if act in NOW:
            return *_then(f"{both}{more}", NOW[act], act), *least
        return _sentence(f"{both}{more} {act}"), *least
    return (
        _sentence(f"{first.name} {act}, {second.name} {_act(second)}{more}"),
        _sentence(f"{first.name} {act} then {second.name}{more}"),
        *least,
    )


NOW = {"wipe": "wipe off now", "rinse": "rinse off now"}
"""Acts that are called for at once, when all that is due waits for the same."""


def warning(alert: DueAlert, names: Names) -> str:
    """One short sentence for one alert or for several, the most urgent first."""
    all_due = _dues(alert, names)
    first = all_due[0]
    if len(all_due) > 1:
        return _shortest(*_together(all_due))
    if first.alert == "bare_seams":
        return _shortest(*_seams(alert, names, first))
    return _shortest(*WORDS[first.alert].alone(first))
