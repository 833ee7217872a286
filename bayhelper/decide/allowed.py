"""What may be said now, computed from what may be done now."""

from __future__ import annotations

from bayhelper.decide.acts.coating import may_send_back, unfixed
from bayhelper.decide.acts.correction import may_machine
from bayhelper.decide.acts.laying import part_to_lay
from bayhelper.decide.acts.stages import may_start
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.seams import coated, own_panels
from bayhelper.decide.job.state import Job, Question, part_key

NO_JOB = frozenset({"open_job"})
ALWAYS = frozenset(
    "close_job set_air_temp set_humidity set_panel_temp finish_stage film_reading flag_panel "
    "ask_elapsed ask_remaining ask_bare ask_unwiped ask_next ask_where ask_open say_again "
    "take_note read_note undo that_was_wrong answered hush quieter louder sleep".split()
)
BY_STAGE: dict[str, frozenset[str]] = {
    stage: frozenset(names.split())
    for stage, names in {
        "intake": "",
        "wash": "start_dwell end_dwell",
        "decontamination": "start_dwell end_dwell",
        "inspection": "start_panel polish_on section_done pad_cleaned pad_changed prepped",
        "correction": "start_panel finish_panel polish_on section_done pad_cleaned pad_changed "
        "residue_left residue_wiped prepped",
        "panel_wipe": "prepped touched laying covered residue_wiped batch",
        "coating": "prepped touched laying covered all_round lapped trial levelled buffed checked "
        "defect defect_fixed back_to_correction more_time start_layer residue_wiped "
        "ask_fits ask_all_off batch applicator_changed towels_changed",
        "cure": "checked defect defect_fixed back_to_correction",
    }.items()
}
"""Commands of each stage, apart from those that are always there."""


def allowed(job: Job | None) -> frozenset[str]:
    """Names of the commands that may be given now."""
    if job is None or job.closed_at_utc is not None:
        return NO_JOB
    if job.asleep:
        return frozenset({"wake"})
    names = set(ALWAYS | BY_STAGE.get(job.stage, frozenset()))
    names.add("resume_job" if job.paused else "pause_job")
    if may_start(job):
        names.add("start_stage")
    if job.dictating:
        names.add("end_note")
        names.discard("take_note")
    if job.question is not None:
        names |= answers_to(job.question)
    names -= _pointless(job)
    panels = allowed_panels(job)
    return frozenset(n for n in names if n not in panels or panels[n])


def _pointless(job: Job) -> set[str]:
    """Commands of the stage that nothing could be done with just now."""
    without = set()
    if not job.dwells:
        without.add("end_dwell")
    if not job.machining:
        without.add("finish_panel")
    if job.layer >= job.plan.layers:
        without.add("start_layer")
    if not any(part.state == "covered" for part in job.open_parts()):
        without.add("trial")
    if not job.open_parts():
        without.add("ask_all_off")
    if job.stage == "inspection":
        if "correction" not in may_start(job):
            without.add("start_panel")
        if "panel_wipe" not in may_start(job):
            without.add("prepped")
    if "polish" not in job.plan.products:
        without |= {"polish_on", "section_done", "pad_cleaned", "pad_changed"}
    return without


def answers_to(question: Question) -> frozenset[str]:
    """What may be said to a question: a warning takes more than a yes, a choice a name."""
    if question.answer == "insist":
        return frozenset({"insist", "no"})
    if question.answer == "which":
        return frozenset({"choose_panel", "no"})
    if question.topic == "did_you_mean":
        return frozenset({"yes", "no"})
    return frozenset({"yes", "no", "insist"})


def allowed_panels(job: Job) -> dict[str, frozenset[str]]:
    """For commands about a panel, the panels that can be meant; other commands take any.

    Where a half can be named, there is also its key, such as 'bonnet/left'.
    """
    if job.closed_at_utc is not None:
        return {}
    panels = [p.id for p in job.body.panels if coated(job, p.id)]
    own = {p.id for p in own_panels(job)}
    coming, on, wet, wiped = _by_state(job, panels)
    laid = frozenset(p for p in panels if any(part.layer > 0 for part in job.parts_of(p)))
    return {
        "choose_panel": _choices(job),
        "start_panel": frozenset(p for p in own if may_machine(job, p)),
        "finish_panel": frozenset({job.machining} - {""}),
        "residue_left": frozenset(own),
        "residue_wiped": frozenset(job.residues),
        "prepped": frozenset(
            p
            for p in panels
            if p == job.machining or all("prep" in panel_triggers(x.state) for x in job.parts_of(p))
        ),
        "touched": _fitting(job, panels, "touch"),
        "laying": coming,
        "ask_fits": coming,
        "covered": coming | on,
        "all_round": laid,
        "lapped": laid,
        "trial": wet,
        "levelled": on | wet,
        "buffed": wet | wiped,
        "checked": frozenset(
            p
            for p in panels
            if all("check" in panel_triggers(part.state) for part in job.parts_of(p))
        ),
        "defect": laid,
        "defect_fixed": unfixed(job),
        "back_to_correction": frozenset(p for p in panels if may_send_back(job, p)),
        "more_time": on | wet,
    }


def _choices(job: Job) -> frozenset[str]:
    """What 'which?' can be answered with; the panel alone where only one part of it is meant."""
    if job.question is None:
        return frozenset()
    panels = [key.partition("/")[0] for key in job.question.choices]
    alone = {panel for panel in panels if panels.count(panel) == 1}
    return frozenset(job.question.choices) | alone


def _by_state(job: Job, panels: list[str]) -> tuple[frozenset[str], ...]:
    """What can be laid, covered, levelled and buffed."""
    coming = {
        part_key(panel.id, half)
        for panel in job.body.panels
        if panel.id in panels
        for half in ("", *panel.halves)
        if part_to_lay(job, panel.id, half) is not None
    }
    return (
        frozenset(coming),
        _fitting(job, panels, "cover"),
        _fitting(job, panels, "level"),
        _fitting(job, panels, "buff"),
    )


def _fitting(job: Job, panels: list[str], trigger: str) -> frozenset[str]:
    """Panels of which any part takes the trigger, and the halves that do."""
    fit = [
        part
        for panel in panels
        for part in job.parts_of(panel)
        if trigger in panel_triggers(part.state)
    ]
    return frozenset({part.panel for part in fit} | {part.key for part in fit})
