"""One act: a row that holds all that is known of a thing that can be asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.terms.choices import STAGES, Stage
from bayhelper.terms.command import Command
from bayhelper.terms.errors import DecisionError
from bayhelper.terms.slots import BY, HALF, PANEL, Slot

EVERYWHERE = frozenset(STAGES)
"""For acts of every stage."""


@dataclass(frozen=True)
class Asked:
    """A command at an instant, with all that an act needs to decide on it."""

    now: Job | None
    """The job as it stands; None while none is open."""
    command: Command
    """What is asked for."""
    at_utc: datetime
    """When."""
    desk: Desk
    """What lies ready for opening a job."""
    acts: Mapping[str, Act]
    """Every act by name."""
    carry_out: Callable[[Command, bool], Outcome]
    """Decides on a command that waited for an answer; whether it was insisted on."""
    insisted: bool = False
    """Whether a warning was answered with 'do it anyway', or a question with yes."""

    @property
    def job(self) -> Job:
        """The open job. Raises DecisionError when there is none."""
        if self.now is None:
            raise DecisionError(f"'{self.command.name}' needs an open job, but none is open.")
        return self.now

    @property
    def panel(self) -> str:
        """Id of the panel that was named, or ''."""
        return PANEL.given(self.command) or ""

    @property
    def half(self) -> str:
        """Half that was named, or ''."""
        return HALF.given(self.command) or ""

    @property
    def by(self) -> str:
        """Name of the technician, where it was said first, or ''."""
        return BY.given(self.command) or ""


def always(job: Job) -> bool:
    """Whatever state the job is in."""
    return True


@dataclass(frozen=True)
class Act:
    """One row: what may be said, refused, insisted on and undone is derived from its columns."""

    name: str
    """Key in commands and in the record."""
    meaning: str
    """A sentence for the help card."""
    do: Callable[[Asked], Outcome]
    """Decides what comes of it."""
    needs: tuple[Slot[Any], ...] = ()
    """Slots that are always there."""
    may: tuple[Slot[Any], ...] = ()
    """Slots that may be there."""
    stages: frozenset[Stage] = EVERYWHERE
    """Stages in which it may be asked for."""
    when: Callable[[Job], bool] = always
    """Further condition: without it nothing could be done with the act just now."""
    panels: Callable[[Job], frozenset[str]] | None = None
    """Panels that can be meant, and halves as 'bonnet/left'; None for any. Without one, the act is
    not offered."""
    fits_first: bool = False
    """Whether another panel is refused before `do` is asked."""
    begins: Mapping[Stage, Stage] = field(default_factory=dict)
    """Stage that is begun by doing it in another, where the table and the plan have it."""
    taken_back: str = ""
    """What it is called when it is undone; empty for what changes nothing, or cannot be undone."""
    ends_note: bool = False
    """Whether it ends a note that was forgotten; what can be taken back does so in any case."""
    keeps_question: bool = False
    """Whether a question of the helper still waits for its answer afterwards."""
    answers: bool = False
    """Whether it answers a question of the helper."""
    opens: bool = False
    """Whether it may be asked for only while no job is open."""
    wakes: bool = False
    """Whether it may be asked for only while the helper sleeps."""
