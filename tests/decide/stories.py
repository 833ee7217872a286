"""What happens in a bay, as lines: each story must run through, and ends as it says."""

from __future__ import annotations

from dataclasses import dataclass, field

CLOSED = ("asks close_job", "yes")
"""Closing cannot be taken back, so it is asked about."""
TO_COATING = (
    "start_stage stage=wash",
    "start_stage stage=decontamination",
    "start_stage stage=inspection",
    "start_stage stage=panel_wipe",
    "start_stage stage=coating",
)
TO_CORRECTION = (
    "start_stage stage=inspection",
    "start_stage stage=correction",
)
PREP_AND_LAY = (
    "prepped panel=roof",
    "laying panel=roof",
    "wait 120",
    "covered panel=roof all_round=true",
    "wait 300",
    "levelled panel=roof all_round=true",
)


@dataclass(frozen=True)
class Story:
    name: str
    lines: tuple[str, ...]
    stage: str
    states: dict[str, str] = field(default_factory=dict)
    plan: str = "coat_only"


STORIES = (
    Story(
        "a roof from panel wipe to the last look",
        (
            *TO_COATING,
            *PREP_AND_LAY,
            "buffed panel=roof",
            "checked panel=roof",
            "checked panel=roof",
            "start_stage stage=cure",
            *CLOSED,
        ),
        "closed",
        {"roof": "done"},
    ),
    Story(
        "remover forgotten, back from inspection",
        (
            "start_stage stage=inspection",
            "start_stage stage=decontamination",
            "start_dwell agent=iron_remover",
            "wait 180",
            "end_dwell",
            "start_stage stage=inspection",
            *CLOSED,
        ),
        "closed",
    ),
    Story(
        "a clean car is washed and looked at",
        ("start_stage stage=wash", "start_stage stage=inspection"),
        "inspection",
    ),
    Story("called off at intake", CLOSED, "closed"),
    Story("called off at the wash", ("start_stage stage=wash", *CLOSED), "closed"),
    Story(
        "called off before inspection",
        ("start_stage stage=wash", "start_stage stage=decontamination", *CLOSED),
        "closed",
    ),
    Story("polished only", (*TO_CORRECTION, *CLOSED), "closed", plan="one_step"),
    Story(
        "called off after the panel wipe",
        ("start_stage stage=inspection", "start_stage stage=panel_wipe", *CLOSED),
        "closed",
    ),
    Story("called off before the first panel", (*TO_COATING, *CLOSED), "closed"),
    Story(
        "machining, twice over, then the panel wipe",
        (
            *TO_CORRECTION,
            "start_panel panel=roof",
            "polish_on",
            "section_done",
            "pad_cleaned",
            "finish_panel",
            "start_panel panel=roof",
            "finish_panel panel=roof",
            "prepped panel=roof",
        ),
        "panel_wipe",
        {"roof": "prepped"},
        "one_step",
    ),
    Story(
        "marks seen after the panel wipe, and again after it was touched",
        (
            *TO_CORRECTION,
            "start_stage stage=panel_wipe",
            "prepped panel=roof",
            "start_stage stage=correction",
            "start_panel panel=roof",
            "finish_panel",
            "prepped panel=roof",
            "touched panel=roof",
            "start_stage stage=correction",
            "start_panel panel=roof",
            "finish_panel",
        ),
        "correction",
        {"roof": "machined"},
        "one_step",
    ),
    Story(
        "touched, wiped again, and wiped once more for luck",
        (
            *TO_COATING,
            "prepped panel=roof",
            "touched panel=roof",
            "prepped panel=roof",
            "prepped panel=roof",
        ),
        "coating",
        {"roof": "prepped"},
    ),
    Story(
        "the panel wipe went stale over lunch",
        (*TO_COATING, "prepped panel=roof", "wait 4000", "prepped panel=roof", "laying panel=roof"),
        "coating",
        {"roof": "laying"},
    ),
    Story(
        "stale after lunch means stale",
        (*TO_COATING, "prepped panel=roof", "wait 4000"),
        "coating",
        {"roof": "stale"},
    ),
    Story(
        "a panel at a time, wipe and coat",
        (
            *TO_COATING,
            *PREP_AND_LAY,
            "buffed panel=roof",
            "start_stage stage=panel_wipe",
            "prepped panel=bonnet",
            "laying panel=bonnet",
        ),
        "coating",
        {"roof": "buffed", "bonnet": "laying"},
    ),
    Story(
        "coated straight from correction",
        (*TO_CORRECTION, "start_stage stage=coating"),
        "coating",
        plan="one_step",
    ),
    Story(
        "a high spot found at once, corrected the same day",
        (
            *TO_COATING,
            *PREP_AND_LAY,
            "defect panel=roof kind=high_spot place=rear_edge",
            "back_to_correction panel=roof",
            "start_stage stage=correction",
            "start_panel panel=roof",
            "finish_panel",
            "prepped panel=roof",
            "laying panel=roof",
        ),
        "coating",
        {"roof": "laying"},
    ),
    Story(
        "a high spot found after buffing",
        (*TO_COATING, *PREP_AND_LAY, "buffed panel=roof", "back_to_correction panel=roof"),
        "coating",
        {"roof": "rework"},
    ),
    Story(
        "a high spot found at the last look, next day",
        (
            *TO_COATING,
            *PREP_AND_LAY,
            "buffed panel=roof",
            "checked panel=roof",
            "start_stage stage=cure",
            "back_to_correction panel=roof",
            "start_stage stage=correction",
            "start_panel panel=roof",
            "finish_panel",
        ),
        "correction",
        {"roof": "machined"},
    ),
    Story(
        "a forgotten panel is coated on the next day",
        (*TO_COATING, "start_stage stage=cure", "start_stage stage=coating"),
        "coating",
    ),
    Story(
        "two layers, the second on a panel that was looked over",
        (
            *TO_CORRECTION,
            "start_stage stage=coating",
            *PREP_AND_LAY,
            "buffed panel=roof",
            "checked panel=roof",
            "wait 3600",
            "start_layer",
            "laying panel=roof",
        ),
        "coating",
        {"roof": "laying"},
        "correction_coat",
    ),
    Story(
        "two layers, the second on a panel that was only buffed",
        (
            *TO_CORRECTION,
            "start_stage stage=coating",
            *PREP_AND_LAY,
            "buffed panel=roof",
            "wait 3600",
            "start_layer",
            "covered panel=roof",
        ),
        "coating",
        {"roof": "covered"},
        "correction_coat",
    ),
)

INSISTED = (
    ("waiting", (*TO_COATING,), "coat_only"),
    ("stale", (*TO_COATING, "prepped panel=roof", "touched panel=roof"), "coat_only"),
    (
        "machined",
        (
            *TO_CORRECTION,
            "start_panel panel=roof",
            "finish_panel",
            "start_stage stage=coating",
        ),
        "one_step",
    ),
)
"""States from which product goes on only on insistence, and how to get there."""
