"""Opening and closing a job, its stages, pausing: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from bayhelper.terms.body import Body
from bayhelper.terms.choices import Stage
from bayhelper.terms.fact import Event
from bayhelper.terms.plan import Plan
from bayhelper.terms.product import Product
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class JobOpened(Event):
    version: ClassVar[int] = 2
    job: str
    """Id of the job."""
    plan: Plan
    """A copy of the plan as it was."""
    body: Body
    """A copy of the car body as it was."""
    products: tuple[Product, ...]
    """Copies of the product sheets as they were."""
    technicians: tuple[str, ...] = ()
    """Names that may be said first."""
    dialect: Literal["uk", "us"] = "uk"
    """Which words are spoken, and which meaning colliding words have."""
    steering: Literal["left", "right"] = "right"
    """Side of the driver's seat; nearside is the other side."""
    car: str = ""
    """Description of the vehicle for the record."""
    air_stale_s: float = 3600.0
    """Readings of the air older than this are said to be stale, seconds."""


@dataclass(frozen=True, kw_only=True)
class JobPaused(Event):
    pass


@dataclass(frozen=True, kw_only=True)
class JobResumed(Event):
    pass


@dataclass(frozen=True, kw_only=True)
class JobClosed(Event):
    left_open: tuple[str, ...] = ()
    """Parts that were open when it was closed on insistence."""
    bare: tuple[str, ...] = ()
    """Seams that were bare when it was closed on insistence."""
    unwiped: tuple[str, ...] = ()
    """Seams that were unwiped when it was closed on insistence."""


@dataclass(frozen=True, kw_only=True)
class StageStarted(Event):
    stage: Stage
    """Which one."""


@dataclass(frozen=True, kw_only=True)
class StageFinished(Event):
    stage: Stage
    """Which one."""


@dataclass(frozen=True, kw_only=True)
class ClockSet(Event):
    """The computer's clock was set during the job; the job's own time goes on as it was."""

    step_s: float
    """Seconds forward; negative for back."""


@dataclass(frozen=True, kw_only=True)
class NoJobRefusal(Saying):
    """No job is open, and nothing but opening one may be asked for."""


@dataclass(frozen=True, kw_only=True)
class NoSuchSheetRefusal(Saying):
    """There is no plan or body of that id."""


@dataclass(frozen=True, kw_only=True)
class PlanImpossibleRefusal(Saying):
    """The table does not let the stages of the plan follow one another."""


@dataclass(frozen=True, kw_only=True)
class OpenedReply(Saying):
    """A job is open, in its first stage."""

    plan: str
    """Name of the plan, for people."""
    stage: Stage
    """Which one."""


@dataclass(frozen=True, kw_only=True)
class CautionReply(Saying, always_said=True):
    """A caution of the plan or a sheet, as it stands there."""

    text: str
    """The words."""


@dataclass(frozen=True, kw_only=True)
class StageAlreadyReply(Saying):
    """That stage is running."""

    stage: Stage
    """Which one."""


@dataclass(frozen=True, kw_only=True)
class StageNotNowRefusal(Saying):
    """The table has no way from this stage to that."""

    stage: Stage
    """Which one."""
    now: str
    """Stage that is running."""


@dataclass(frozen=True, kw_only=True)
class StageStartedReply(Saying):
    """The stage begins, as it was announced."""

    stage: Stage
    """Which one."""


@dataclass(frozen=True, kw_only=True)
class StageNotRunningRefusal(Saying):
    """Another stage is running."""

    stage: Stage
    """Which one."""
    now: str
    """Stage that is running."""


@dataclass(frozen=True, kw_only=True)
class StageFinishedReply(Saying):
    """The stage is done."""

    stage: Stage
    """Which one."""
    following: Literal[Stage, ""]
    """The next one of the plan; empty after the last."""


@dataclass(frozen=True, kw_only=True)
class PauseOpenQuestion(Saying):
    """Whether to pause all the same: a panel's clock never stops."""

    parts: tuple[str, ...]
    """Keys of the parts, such as 'bonnet/left'."""


@dataclass(frozen=True, kw_only=True)
class PausedReply(Saying):
    """Working time stops until the job goes on."""

    parts: tuple[str, ...]
    """Keys of the parts whose clocks run on."""


@dataclass(frozen=True, kw_only=True)
class ResumedReply(Saying):
    """Working time goes on."""

    stage: str
    """Stage that is running."""


@dataclass(frozen=True, kw_only=True)
class CloseOpenQuestion(Saying):
    """Whether to close all the same: something is unfinished."""

    parts: tuple[str, ...]
    """Keys of the parts, such as 'bonnet/left'."""
    bare: tuple[str, ...]
    """Ids of the bare seams."""
    unwiped: tuple[str, ...]
    """Ids of the unwiped seams."""


@dataclass(frozen=True, kw_only=True)
class CloseSureQuestion(Saying):
    """Whether to close: it cannot be taken back."""


@dataclass(frozen=True, kw_only=True)
class ClosedReply(Saying, always_said=True):
    """The job is closed."""


@dataclass(frozen=True, kw_only=True)
class KeepReply(Saying):
    """What the car must be kept from, and for how long."""

    rule: str
    """As the sheet tells it."""
    for_s: float
    """Seconds that it still lasts."""
