"""What is said in the measurements: recordings, prompts, and a job that is being coated."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from bayhelper.terms.command import Command
from benchmarks.live.rig import Rig

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
"""Where the recordings lie."""
ON = (
    "open a new job coat only on a saloon",
    "start the wash",
    "start inspection",
    "start the panel wipe",
    "roof prepped",
    "bonnet prepped",
    "boot lid prepped",
    "left front door prepped",
    "right front door prepped",
    "start coating",
)
"""Typed commands that take a new job to its coating, some panels prepped."""
ASKS = ("ask_elapsed", "ask_remaining", "ask_bare", "ask_next", "ask_where", "ask_open")
"""Commands that change nothing, so that they may come in any order."""
PROMPTS = (
    "Roof started. Look for the flash in five minutes.",
    "Bonnet is on. Level it at ten past three.",
    "Left front door is closing, wipe it now.",
    "Next is decontamination, then the panel wipe.",
    "Right front door was looked over, no high spots.",
)
"""Sentences of the helper's, made up in its own wording."""


def coating(one: Rig) -> None:
    """A job that is being coated."""
    for line in ON:
        one.typed(line)
    one.quiet()


def fixtures() -> list[dict[str, Any]]:
    rows = tomllib.loads((FIXTURES / "commands.toml").read_text(encoding="utf-8"))
    return list(rows["command"])


def meant(hearing: Any, row: dict[str, Any]) -> bool:
    command: Command | None = hearing.command
    return hearing.accepted and command is not None and command.name == row["command"]


def heard_since(one: Rig, before: int, row: dict[str, Any]) -> bool:
    return any(meant(hearing, row) for _, hearing, _ in one.acts[before:])
