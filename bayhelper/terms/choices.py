"""The closed sets of the trade that commands, facts and sentences share."""

from __future__ import annotations

from typing import Literal, get_args

Stage = Literal[
    "intake",
    "wash",
    "decontamination",
    "inspection",
    "correction",
    "panel_wipe",
    "coating",
    "cure",
]
"""A stage of a job."""
STAGES: tuple[Stage, ...] = get_args(Stage)
"""All of them, in working order."""
Agent = Literal["pre_rinse_foam", "iron_remover", "tar_remover"]
"""What dwells on the car; also the role of its product in a plan."""
Flag = Literal["repainted", "thin", "matte", "wrapped", "single_stage", "plastic", "normal"]
"""What somebody tells about the surface of a panel."""
TrialResult = Literal["wet", "clean", "grabbing"]
"""How a trial wipe went."""
DefectKind = Literal["high_spot", "run", "water"]
"""What is found on a coated panel."""
Place = Literal[
    "front_edge",
    "rear_edge",
    "left_edge",
    "right_edge",
    "top_edge",
    "bottom_edge",
    "centre",
    "handle",
    "corner",
]
"""Where on a panel."""
LapAct = Literal["laying", "wiping"]
"""Whether a seam was lapped on the way on, or on the way off."""
AirSource = Literal["said", "settings", "file"]
"""Where a reading of the air comes from."""
AnswerKind = Literal["yes_no", "insist", "which"]
"""What kind of answer a question takes."""
Settled = Literal["yes", "no", "insisted", "lapsed", "chosen"]
"""How a question ended."""
