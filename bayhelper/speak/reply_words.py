"""Spoken names of what replies are about: stages, flags, places, acts, numbers and lists."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bayhelper.speak.durations import counted, duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.speak.warnings import AGENTS, subject_words
from bayhelper.terms.effects import Say

STAGES = {
    "intake": "intake",
    "wash": "wash",
    "decontamination": "decontamination",
    "inspection": "inspection",
    "correction": "correction",
    "panel_wipe": "panel wipe",
    "coating": "coating",
    "cure": "cure",
}
STATES = {
    "waiting": "is not started",
    "machining": "is being machined",
    "machined": "is machined",
    "prepped": "is prepped",
    "stale": "needs its panel wipe",
    "laying": "is being laid",
    "covered": "is covered",
    "levelled": "is levelled",
    "buffed": "is buffed",
    "done": "was looked over",
    "rework": "is back for correction",
}
"""How a panel stands, by the state of its machine."""

TAKEN_BACK = {
    "pause_job": "Pause",
    "resume_job": "Going on",
    "set_air_temp": "Air temperature",
    "set_humidity": "Humidity",
    "set_panel_temp": "Surface temperature",
    "start_stage": "Stage",
    "finish_stage": "End of the stage",
    "film_reading": "Film reading",
    "flag_panel": "Flag",
    "touched": "Touched",
    "start_dwell": "Remover on",
    "end_dwell": "Rinsed off",
    "start_panel": "Machining",
    "finish_panel": "End of machining",
    "polish_on": "Polish on",
    "section_done": "Section",
    "pad_cleaned": "Pad cleaned",
    "pad_changed": "New pad",
    "residue_left": "Residue left",
    "residue_wiped": "Residue wiped",
    "prepped": "Panel wipe",
    "laying": "Lay-down",
    "covered": "Covered",
    "all_round": "All round",
    "lapped": "Seam",
    "trial": "Trial wipe",
    "levelled": "Levelled",
    "buffed": "Buffed",
    "checked": "Looked over",
    "defect": "Find",
    "defect_fixed": "Fixed",
    "back_to_correction": "Back to correction",
    "more_time": "More time",
    "start_layer": "Layer",
    "batch": "Batch number",
    "applicator_changed": "Applicator",
    "towels_changed": "Towels",
}
"""What each command that can be taken back is called when it is."""

Sentence = Callable[[Say, Names], str]
"""Makes the words of one sentence."""
INSIST = "or say do it anyway"
"""How a warning is overruled."""
LONGEST_LIST = 3
"""More names than this are counted, not listed."""


def sentence(text: str) -> str:
    """The text with a capital and a full stop."""
    return text[:1].upper() + text[1:] + "."


def told(*texts: str) -> str:
    """Each text as a sentence of its own; empty ones are left out."""
    return " ".join(sentence(text) for text in texts if text)


def text_of(say: Say, name: str) -> str:
    """A parameter that holds text, or ''."""
    value = say.params.get(name, "")
    return value if isinstance(value, str) else ""


def texts_of(say: Say, name: str) -> tuple[str, ...]:
    """A parameter that holds several texts."""
    value = say.params.get(name, ())
    return tuple(str(item) for item in value) if isinstance(value, tuple) else ()


def number_of(say: Say, name: str) -> float:
    """A parameter that holds a number, or 0."""
    value = say.params.get(name, 0.0)
    return float(value) if isinstance(value, int | float) else 0.0


def part_name(say: Say, names: Names) -> str:
    """The panel, and the half of it, that the sentence is about; or ''."""
    panel, half = text_of(say, "panel"), text_of(say, "half")
    if not panel:
        return ""
    return subject_words(f"{panel}/{half}" if half else panel, names)


def led(say: Say, names: Names, text: str) -> str:
    """The panel, then the text: 'Roof. Buffed first.'; only the text when there is no panel."""
    return told(part_name(say, names), text)


def listed(items: Sequence[str], joint: str = "and") -> str:
    """'a', 'a and b', 'a, b and c', 'a, b and four more'."""
    shown = list(items)
    if len(shown) > LONGEST_LIST:
        rest = len(shown) - LONGEST_LIST + 1
        shown = [*shown[: LONGEST_LIST - 1], f"{number_words(rest)} more"]
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} {joint} {shown[-1]}"


def parts_listed(say: Say, names: Names, joint: str = "and") -> str:
    """The parts that the sentence names."""
    return listed([subject_words(part, names) for part in texts_of(say, "parts")], joint)


def stage_name(stage: str) -> str:
    """The stage as it is spoken."""
    return STAGES.get(stage, stage.replace("_", " "))


def agent_name(agent: str) -> str:
    """The remover as it is spoken."""
    return AGENTS.get(agent, agent.replace("_", " "))


def decimal_words(value: float) -> str:
    """A number to one decimal in words: 'twenty one point five', 'minus three'."""
    tenths = round(abs(value) * 10)
    whole, tenth = divmod(tenths, 10)
    words = number_words(whole) + (f" point {number_words(tenth)}" if tenth else "")
    return f"minus {words}" if value < 0 and tenths else words


def microns(film_um: float) -> str:
    """A film reading, to one micrometre or, if it was given finer, to a tenth."""
    return f"{decimal_words(film_um)} microns"


def in_time(seconds: float) -> str:
    """'in five' for whole minutes, 'in ninety seconds', 'now' for what is due."""
    if seconds < 5:
        return "now"
    minutes = round(seconds / 60)
    if 2 <= minutes < 60 and abs(seconds - 60 * minutes) < 8:
        return f"in {number_words(minutes)}"
    return f"in {duration_words(seconds)}"


def panel_says(text: str) -> Sentence:
    """The panel and a few words in one breath: 'Roof prepped.' and the like."""
    return lambda say, names: sentence(f"{part_name(say, names)} {text}".strip())


def panel_then(text: str) -> Sentence:
    """The panel, a stop, and a sentence: 'Roof. Buff it first.' and the like."""
    return lambda say, names: led(say, names, text)


def counted_bare(count: int, how: str = "bare") -> str:
    """'one seam bare', 'three seams unwiped'."""
    return f"{counted(count, 'seam')} {how}"
