"""The sentences of replies, questions and refusals: the panel first, then what, then how long.

A refusal says what is wrong and what to do, and how to insist where that is possible. No sentence
says that a panel is good: people look.
"""

from __future__ import annotations

from bayhelper.speak.coating_replies import COATING_REPLIES
from bayhelper.speak.durations import duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.speak.reply_words import (
    INSIST,
    STATES,
    TAKEN_BACK,
    Sentence,
    agent_name,
    counted_bare,
    decimal_words,
    in_time,
    led,
    listed,
    microns,
    number_of,
    panel_says,
    panel_then,
    part_name,
    parts_listed,
    sentence,
    stage_name,
    text_of,
    texts_of,
    told,
)
from bayhelper.terms.effects import Say


def _fixed(text: str) -> Sentence:
    """A sentence that never changes."""
    return lambda say, names: text


def _stage_finished(say: Say, names: Names) -> str:
    following = text_of(say, "next")
    done = f"{stage_name(text_of(say, 'stage'))} finished"
    return told(done, f"next is {stage_name(following)}" if following else "")


def _stage_not_now(say: Say, names: Names) -> str:
    stage, now = stage_name(text_of(say, "stage")), stage_name(text_of(say, "now"))
    return told(f"no {stage} after {now}", "ask what is next")


def _close_open(say: Say, names: Names) -> str:
    parts, bare, unwiped = parts_listed(say, names), texts_of(say, "bare"), texts_of(say, "unwiped")
    seams = counted_bare(len(bare)) if bare else counted_bare(len(unwiped), "unwiped")
    left = told(f"{parts} still open" if parts else seams)
    return f"{left} Close the job all the same?"


def _air(say: Say, names: Names) -> str:
    return sentence(f"air {decimal_words(number_of(say, 'temp_c'))} degrees")


def _humidity(say: Say, names: Names) -> str:
    return sentence(f"humidity {decimal_words(number_of(say, 'humidity_percent'))} percent")


def _panel_temp(say: Say, names: Names) -> str:
    part = part_name(say, names) or "surface"
    return sentence(f"{part} {decimal_words(number_of(say, 'temp_c'))} degrees")


def _near_dew_point(say: Say, names: Names) -> str:
    margin_c = number_of(say, "margin_c")
    part = part_name(say, names) or "surface"
    if margin_c <= 0:
        return sentence(f"{part} is below the dew point, it will sweat")
    return sentence(f"{part} only {decimal_words(margin_c)} degrees above the dew point")


def _outside_sheet(say: Say, names: Names) -> str:
    subject, _, what = text_of(say, "what").partition(" ")
    part = part_name(say, names) if subject == "panel" else ""
    return sentence(f"{part or subject} {what} by the sheet")


def _retimed(say: Say, names: Names) -> str:
    wipe = in_time(number_of(say, "wipe_in_s"))
    return told(
        "the air has changed", f"{part_name(say, names)} now {wipe}".replace("now now", "now")
    )


def _film(say: Say, names: Names) -> str:
    several = number_of(say, "count") > 1
    mean = f"mean {decimal_words(number_of(say, 'mean_um'))}" if several else ""
    over = ", wrap included" if say.params.get("wrapped") else ""
    return told(f"{part_name(say, names)} {microns(number_of(say, 'film_um'))}{over}", mean)


FLAGS = {"thin": "thin paint", "single_stage": "single-stage paint", "plastic": "bare plastic"}
"""Flags that are not spoken as they are written."""
CARE = {
    "repainted": "be gentle, try the panel wipe in a corner",
    "thin": "measure before you polish",
    "matte": "no machine on it",
    "wrapped": "no compound, try the panel wipe in a corner",
    "single_stage": "its colour comes off on the pad",
    "plastic": "no machine on it, try the panel wipe in a corner",
}
"""What a surface asks for (common practice, no source)."""


def _flag(say: Say) -> str:
    flag = text_of(say, "flag")
    return FLAGS.get(flag, flag)


def _flagged(say: Say, names: Names) -> str:
    return told(f"{part_name(say, names)} {_flag(say)}", CARE.get(text_of(say, "flag"), ""))


def _gentle(say: Say, names: Names) -> str:
    return told(f"{part_name(say, names)} is {_flag(say)}", f"leave it, {INSIST}")


def _machining(say: Say, names: Names) -> str:
    care = {"repainted": "repainted, be gentle", "single_stage": "colour comes off on the pad"}
    return told(f"{part_name(say, names)} started", care.get(text_of(say, "flag"), ""))


def _dwell_started(say: Say, names: Names) -> str:
    rinse = in_time(number_of(say, "rinse_in_s"))
    return told(f"{agent_name(text_of(say, 'agent'))} on", f"rinse {rinse}")


def _dwell_ended(say: Say, names: Names) -> str:
    return sentence(f"{listed([agent_name(a) for a in texts_of(say, 'agents')])} rinsed off")


def _dwell_refused(text: str) -> Sentence:
    return lambda say, names: sentence(
        f"{agent_name(text_of(say, 'agent')) or 'nothing'} {text}".strip()
    )


def _residue_left(say: Say, names: Names) -> str:
    waits = duration_words(number_of(say, "wipe_in_s"))
    return told(f"{part_name(say, names)} residue", f"wipe within {waits}")


def _dirty_pad(say: Say, names: Names) -> str:
    return told("pad is dirty", f"clean it, {INSIST}")


def _elapsed(say: Say, names: Names) -> str:
    had = duration_words(number_of(say, "seconds"))
    doing = "laying for" if say.params.get("laying") else "has had"
    return sentence(f"{part_name(say, names)} {doing} {had}")


def _remaining(say: Say, names: Names) -> str:
    best_s, latest_s = number_of(say, "best_in_s"), number_of(say, "latest_in_s")
    part = part_name(say, names)
    if latest_s <= 0:
        return sentence(f"{part} overdue by {duration_words(latest_s)}")
    if best_s < 5:
        return told(f"{part} now", f"{duration_words(latest_s)} left")
    return told(f"{part} {in_time(best_s)}", f"latest {in_time(latest_s)}")


def _seams(say: Say, names: Names) -> str:
    panel, seams, how = text_of(say, "panel"), texts_of(say, "seams"), say.topic
    if not seams:
        return led(say, names, f"no seam known {how}")
    pairs = [seam.split("+") for seam in seams]
    if panel:
        others = [b if a == panel else a for a, b in pairs]
        return sentence(f"{part_name(say, names)} {how} to {listed([*map(names.panel, others)])}")
    first = " to ".join(names.panel(side) for side in pairs[0])
    if len(pairs) == 1:
        return sentence(f"{first} is {how}")
    return told(f"{first} {how}", f"{number_words(len(pairs) - 1)} more")


def _open(say: Say, names: Names) -> str:
    parts = parts_listed(say, names)
    return sentence(f"{parts} open") if parts else "No panel is open."


def _where(say: Say, names: Names) -> str:
    done, total = int(number_of(say, "done")), int(number_of(say, "total"))
    stage = stage_name(text_of(say, "stage"))
    paused = ", paused" if say.params.get("paused") else ""
    layer = int(number_of(say, "layer"))
    lay = f", layer {number_words(layer)}" if layer > 1 and stage == "coating" else ""
    count = f"{number_words(done)} of {number_words(total)} panels" if total else ""
    return told(f"{stage}{lay}{paused}", count)


def _next_wipe(say: Say, names: Names) -> str:
    return led(say, names, f"wipe {in_time(number_of(say, 'in_s'))}")


def _next_panel(say: Say, names: Names) -> str:
    return led(say, names, stage_name(text_of(say, "stage")))


def _next_stage(say: Say, names: Names) -> str:
    stage = text_of(say, "stage")
    return sentence(f"next is {stage_name(stage)}") if stage else "Close the job when it is done."


def _again(say: Say, names: Names) -> str:
    return text_of(say, "text") or "Nothing said yet."


def _note_reads(say: Say, names: Names) -> str:
    return told(text_of(say, "text")) or "The note has no words."


def _taken_back(say: Say, names: Names) -> str:
    act = TAKEN_BACK.get(text_of(say, "command"), "it").lower()
    return led(say, names, f"{act} taken back")


def _misheard(say: Say, names: Names) -> str:
    if text_of(say, "command") not in TAKEN_BACK:
        return "Say it again."
    return f"{_taken_back(say, names)} Say it again."


def _not_now(say: Say, names: Names) -> str:
    return told(f"not now, in {stage_name(text_of(say, 'stage'))}", "ask what is next")


def _panel_not_now(say: Say, names: Names) -> str:
    state = STATES.get(text_of(say, "state"), "cannot take that")
    return told(f"{part_name(say, names)} {state}", "not that now")


REPLIES: dict[str, Sentence] = {
    # the job and its stages
    "no_job": _fixed("No job is open. Say open a new job."),
    "no_such_sheet": _fixed("No such plan or body. Look at the board."),
    "plan_impossible": _fixed("The plan's stages do not follow. Correct the plan."),
    "opened": lambda say, names: sentence(
        f"{text_of(say, 'plan')}, {stage_name(text_of(say, 'stage'))}"
    ),
    "caution": lambda say, names: text_of(say, "text"),
    "stage_already": lambda say, names: sentence(f"{stage_name(text_of(say, 'stage'))} is running"),
    "stage_not_now": _stage_not_now,
    "stage_started": lambda say, names: sentence(f"{stage_name(text_of(say, 'stage'))} started"),
    "stage_not_running": lambda say, names: sentence(
        f"{stage_name(text_of(say, 'now'))} is running, not {stage_name(text_of(say, 'stage'))}"
    ),
    "stage_finished": _stage_finished,
    "pause_open": lambda say, names: (
        f"{sentence(f'{parts_listed(say, names)} still open')} Pause all the same?"
    ),
    "paused": lambda say, names: (
        "Paused. Panel clocks run on." if texts_of(say, "parts") else "Paused."
    ),
    "resumed": lambda say, names: sentence(f"back to {stage_name(text_of(say, 'stage'))}"),
    "close_open": _close_open,
    "close_sure": _fixed("Close the job? Say yes please."),
    "closed": _fixed("Job closed."),
    # air, film, flags, removers
    "air": _air,
    "humidity": _humidity,
    "humidity_impossible": _fixed("Humidity cannot be that. Read it again."),
    "temp_impossible": _fixed("The temperature cannot be that. Read it again."),
    "film_impossible": _fixed("A film cannot be that. Read it again."),
    "panel_temp": _panel_temp,
    "near_dew_point": _near_dew_point,
    "outside_sheet": _outside_sheet,
    "retimed": _retimed,
    "no_reading_possible": panel_then("no gauge reading on that material"),
    "film": _film,
    "flagged": _flagged,
    "no_dwell_sheet": _dwell_refused("has no time on its sheet"),
    "dwell_started": _dwell_started,
    "not_dwelling": _dwell_refused("is not on"),
    "dwell_ended": _dwell_ended,
    # correction
    "gentle_panel": _gentle,
    "machining": _machining,
    "not_machining": panel_then("not being machined"),
    "machined": panel_says("machined"),
    "dirty_pad": _dirty_pad,
    "pad_cleaned": _fixed("Pad clean."),
    "pad_changed": _fixed("New pad."),
    "residue_left": _residue_left,
    "no_residue": panel_then("no residue noted there"),
    "residue_wiped": panel_says("residue off"),
    **COATING_REPLIES,
    # questions
    "no_clock": panel_then("no clock running"),
    "elapsed": _elapsed,
    "remaining": _remaining,
    "bare": _seams,
    "unwiped": _seams,
    "open": _open,
    "where": _where,
    "next_wipe": _next_wipe,
    "next_panel": _next_panel,
    "next_recoat": lambda say, names: led(
        say, names, f"next layer {in_time(number_of(say, 'in_s'))}"
    ),
    "next_layer": lambda say, names: sentence(
        f"next is layer {number_words(int(number_of(say, 'layer')))}"
    ),
    "next_stage": _next_stage,
    "again": _again,
    # notes and talking back
    "note_kept": _fixed("Note kept."),
    "no_note": _fixed("No note yet."),
    "note_reads": _note_reads,
    "nothing_to_undo": _fixed("Nothing to take back."),
    "undone": _taken_back,
    "misheard": _misheard,
    "quieter": _fixed("Softer."),
    "louder": _fixed("Louder."),
    "asleep": _fixed("Asleep. Say wake up please."),
    "awake": _fixed("Listening."),
    "did_you_mean": lambda say, names: f"{text_of(say, 'phrase').capitalize()}?",
    "look_at_board": _fixed("Not understood. Look at the board."),
    "not_now": _not_now,
    "panel_not_now": _panel_not_now,
    "no_such_panel": _fixed("This car has no such panel."),
    "nothing_asked": _fixed("Nothing was asked."),
    "left_alone": _fixed("Left alone."),
}
"""The sentence of every reply, question and refusal, by topic."""
