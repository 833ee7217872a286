"""What a person can ask for: the catalogue of commands, and one command with its slots."""

from __future__ import annotations

from dataclasses import dataclass, field

SlotValue = str | float | int | bool


@dataclass(frozen=True)
class Command:
    """One thing asked for, whoever and however said it."""

    name: str
    """A key of COMMANDS."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Values by slot name; units are in the names."""
    said: str = ""
    """The words, without the address phrase."""


@dataclass(frozen=True)
class NearMiss:
    """Why nothing was understood, and what was nearest."""

    heard: str
    """The words heard."""
    nearest: str
    """The nearest phrase that is allowed now; empty when none is near."""
    command: Command | None
    """What that phrase would have meant."""
    edits: float
    """How far the heard words are from it; 0 is word for word."""
    why: str
    """Short reason of the refusal."""
    likely: bool = False
    """Whether it was probably meant, so that asking beats having it said again."""


@dataclass(frozen=True)
class Match:
    """Heard words laid beside everything that may be said now."""

    phrase: str
    """The nearest phrase, in full, without the address; empty when nothing may be said."""
    command: Command | None
    """What it means; None when nothing is near enough to mean anything."""
    edits: float
    """Cost of turning the heard words into the phrase; 0 is word for word."""
    addressed: bool
    """Whether the words began with the address phrase (itself matched word for word)."""
    rival_edits: float = float("inf")
    """Cost of the nearest phrase with another meaning; the gap to it is how sure the match is."""


@dataclass(frozen=True)
class CommandSpec:
    """One row of the catalogue."""

    meaning: str
    """A sentence for the help card and the docs."""
    needs: tuple[str, ...] = ()
    """Slots that are always there."""
    may: tuple[str, ...] = ()
    """Slots that may be there."""
    undoable: bool = True
    """Whether 'undo' can take it back (questions and settings of the moment cannot be)."""


STAGES = (
    "intake",
    "wash",
    "decontamination",
    "inspection",
    "correction",
    "panel_wipe",
    "coating",
    "cure",
)
"""Values of the slot `stage`, in working order."""

SLOT_TYPES: dict[str, type] = {
    "panel": str,  # id of a panel of the body, such as 'left_front_wing'
    "neighbour": str,  # id of the panel across the seam
    "half": str,  # 'left', 'right', 'front' or 'rear' half of a large panel
    "place": str,  # where on the panel: 'front_edge', 'rear_edge', 'left_edge', 'right_edge',
    # 'top_edge', 'bottom_edge', 'centre', 'handle', 'corner'
    "stage": str,  # one of STAGES
    "plan": str,  # id of a plan: 'one_step', 'correction_coat', 'coat_only'
    "body": str,  # id of a car body: 'saloon', 'hatchback'
    "flag": str,  # 'repainted', 'thin', 'matte', 'wrapped', 'single_stage', 'plastic', 'normal'
    "result": str,  # of a trial wipe: 'wet', 'clean', 'grabbing'
    "agent": str,  # 'pre_rinse_foam', 'iron_remover', 'tar_remover'
    "kind": str,  # of a defect: 'high_spot', 'run', 'water'
    "batch": str,  # of the coating: digits
    "temp_c": float,  # degrees Celsius, also when Fahrenheit was said
    "humidity_percent": float,  # relative humidity
    "film_um": float,  # micrometres, also when mils were said
    "minutes": float,
    "layer": int,
    "all_round": bool,  # only ever True: every seam of the panel lapped
    "by": str,  # name of the technician, as in the settings, when said first
}

COMMANDS: dict[str, CommandSpec] = {
    # the job
    "open_job": CommandSpec("Open a job.", may=("plan", "body"), undoable=False),
    "pause_job": CommandSpec("Pause working time; panel clocks run on."),
    "resume_job": CommandSpec("Go on with working time."),
    "close_job": CommandSpec("Close the job and write the record.", undoable=False),
    "set_air_temp": CommandSpec("Air temperature.", needs=("temp_c",)),
    "set_humidity": CommandSpec("Relative humidity.", needs=("humidity_percent",)),
    "set_panel_temp": CommandSpec("Surface temperature.", needs=("temp_c",), may=("panel",)),
    "start_stage": CommandSpec("Begin a stage.", needs=("stage",)),
    "finish_stage": CommandSpec("End the present stage.", may=("stage",)),
    # panels in any stage
    "film_reading": CommandSpec("A film gauge reading.", needs=("panel", "film_um")),
    "flag_panel": CommandSpec("Mark what a panel is.", needs=("panel", "flag")),
    "touched": CommandSpec("Something touched a prepared panel.", needs=("panel",)),
    # wash and decontamination
    "start_dwell": CommandSpec("A remover is on and dwelling.", needs=("agent",)),
    "end_dwell": CommandSpec("It is rinsed off.", may=("agent",)),
    # correction
    "start_panel": CommandSpec("Begin machining a panel.", needs=("panel",)),
    "finish_panel": CommandSpec("End machining a panel.", may=("panel",)),
    "polish_on": CommandSpec("Fresh polish on the pad."),
    "section_done": CommandSpec("One section is worked and checked.", may=("panel",)),
    "pad_cleaned": CommandSpec("The pad was cleaned."),
    "pad_changed": CommandSpec("A clean pad is on."),
    "residue_left": CommandSpec("Residue left to be wiped later.", needs=("panel",)),
    "residue_wiped": CommandSpec("That residue is wiped.", needs=("panel",)),
    # panel wipe
    "prepped": CommandSpec("A panel has had its panel wipe.", needs=("panel",)),
    # coating
    "laying": CommandSpec("Lay-down started.", needs=("panel",), may=("half",)),
    "covered": CommandSpec("The panel is covered.", needs=("panel",), may=("half", "all_round")),
    "all_round": CommandSpec(
        "Every seam of it was lapped, but for one.", needs=("panel",), may=("neighbour",)
    ),
    "lapped": CommandSpec("One seam was lapped.", needs=("panel", "neighbour")),
    "trial": CommandSpec("A trial wipe and how it went.", needs=("result",), may=("panel", "half")),
    "levelled": CommandSpec("The panel is levelled.", needs=("panel",), may=("half", "all_round")),
    "buffed": CommandSpec("The panel is buffed.", needs=("panel",), may=("half",)),
    "checked": CommandSpec("It was looked over for high spots.", needs=("panel",)),
    "defect": CommandSpec(
        "A high spot, run or water was found.", needs=("panel", "kind"), may=("place",)
    ),
    "defect_fixed": CommandSpec("It was levelled, or dried.", needs=("panel",), may=("kind",)),
    "back_to_correction": CommandSpec(
        "A late high spot: the panel goes back to correction.", needs=("panel",)
    ),
    "more_time": CommandSpec("Give the panel longer.", needs=("panel",), may=("minutes",)),
    "start_layer": CommandSpec("Begin the next layer.", may=("layer",)),
    "batch": CommandSpec("Batch number of the coating.", needs=("batch",)),
    "applicator_changed": CommandSpec("A fresh applicator."),
    "towels_changed": CommandSpec("Fresh towels."),
    # questions
    "ask_elapsed": CommandSpec("How long a panel has had.", needs=("panel",), undoable=False),
    "ask_remaining": CommandSpec("Time left on a panel.", may=("panel",), undoable=False),
    "ask_bare": CommandSpec("Which seams are bare.", may=("panel",), undoable=False),
    "ask_unwiped": CommandSpec("Which seams are unwiped.", may=("panel",), undoable=False),
    "ask_next": CommandSpec("What comes next.", undoable=False),
    "ask_fits": CommandSpec("Whether one more panel fits.", may=("panel",), undoable=False),
    "ask_all_off": CommandSpec("In which order to wipe everything now.", undoable=False),
    "ask_where": CommandSpec("Where the job stands.", undoable=False),
    "ask_open": CommandSpec("Which panels are open.", undoable=False),
    "say_again": CommandSpec("Repeat the last sentence.", undoable=False),
    # notes
    "take_note": CommandSpec("Begin dictation.", may=("panel",), undoable=False),
    "end_note": CommandSpec("End dictation.", undoable=False),
    "read_note": CommandSpec("Read back the last note.", undoable=False),
    # answers and corrections
    "undo": CommandSpec("Take back the last command.", undoable=False),
    "that_was_wrong": CommandSpec("The last command was misheard.", undoable=False),
    "yes": CommandSpec("Yes, to a question.", undoable=False),
    "no": CommandSpec("No, to a question.", undoable=False),
    "choose_panel": CommandSpec(
        "The panel that is meant, to 'which?'.", needs=("panel",), may=("half",), undoable=False
    ),
    "insist": CommandSpec("Do it all the same.", undoable=False),
    "answered": CommandSpec("The alert was understood.", undoable=False),
    # the helper itself
    "hush": CommandSpec("Silence the present alert's voice.", undoable=False),
    "quieter": CommandSpec("Speak more softly.", undoable=False),
    "louder": CommandSpec("Speak louder.", undoable=False),
    "sleep": CommandSpec("Stop listening for commands.", undoable=False),
    "wake": CommandSpec("Listen again.", undoable=False),
}
