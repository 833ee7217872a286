"""The job as it stands: always the fold of its decisions, never changed in any other way."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from bayhelper.terms.body import Body
from bayhelper.terms.choices import Agent, AnswerKind, DefectKind, Flag, LapAct, Place, TrialResult
from bayhelper.terms.command import SlotValue
from bayhelper.terms.events import Decision, PhotoKept, Window
from bayhelper.terms.plan import Plan
from bayhelper.terms.product import Product

OPEN_STATES = frozenset({"laying", "covered"})
"""States of a part in which product is on it and must still be wiped off."""


def part_key(panel: str, half: str = "") -> str:
    """Name of a part: 'roof', or 'bonnet/left' for a half."""
    return f"{panel}/{half}" if half else panel


@dataclass(frozen=True)
class Coat:
    """One layer on a part, from the first stroke on; replaced whole when the next one is laid."""

    started_at_utc: datetime | None = None
    """First stroke of the present layer."""
    started_assumed: bool = False
    """Whether that was worked out."""
    usual_s: float = 0.0
    """The person's usual lay-down time for it, seconds."""
    covered_at_utc: datetime | None = None
    """Last stroke of the present layer."""
    covered_assumed: bool = False
    """Whether that was worked out."""
    window: Window | None = None
    """Setting window in force."""
    extra_s: float = 0.0
    """Time that was added by word."""
    trials: tuple[tuple[float, TrialResult], ...] = ()
    """Trial wipes: seconds since covered, and result."""
    ready_at_utc: datetime | None = None
    """When a trial wipe came clean, so that it may be wiped from then on."""
    grabbed_at_utc: datetime | None = None
    """When a trial wipe first grabbed, so that it is closing from then on."""
    levelled_at_utc: datetime | None = None
    """When it was levelled."""
    buffed_at_utc: datetime | None = None
    """When it was buffed."""
    checked_at_utc: datetime | None = None
    """When it was looked over."""
    by: str = ""
    """Who laid it, when known."""
    included_in: str = ""
    """Panel in whose lay-down this small part was done first; empty for its own."""


@dataclass(frozen=True)
class Part:
    """A panel, or a half of one, with its own state and clock."""

    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty for the whole panel."""
    state: str = "waiting"
    """State of the panel machine (tables.PANEL_ROWS)."""
    layer: int = 0
    """Layer last laid, 0 for none."""
    prepped_at_utc: datetime | None = None
    """Last panel wipe."""
    fresh_s: float = 0.0
    """How long that counts as fresh."""
    coat: Coat = Coat()
    """Coat in hand, or last laid."""

    @property
    def key(self) -> str:
        """Name of the part."""
        return part_key(self.panel, self.half)


@dataclass(frozen=True)
class Pad:
    """The pad on the machine."""

    sections: int = 0
    """Sections worked since it was last clean."""
    last_section_at_utc: datetime | None = None
    """When the last section was done."""
    loaded: bool = False
    """Whether fresh polish is on it."""
    cleanings: int = 0
    """Times it was cleaned in this job."""
    cleanings_assumed: int = 0
    """How many of these nobody said, but the habit of the job implies."""
    changes: int = 0
    """Times another pad was fitted."""


@dataclass(frozen=True)
class Timed:
    """Something that waits: a dwelling remover, residue."""

    since_utc: datetime
    """When it began."""
    due_s: float
    """When it should end, seconds after."""
    max_s: float
    """When it must have ended, seconds after."""


@dataclass(frozen=True)
class Defect:
    """A high spot or a run that was found."""

    panel: str
    """Panel id."""
    kind: DefectKind
    """'high_spot', 'run' or 'water'."""
    place: Literal[Place, ""]
    """Where on it, or empty."""
    found_at_utc: datetime
    """When."""
    fixed_at_utc: datetime | None = None
    """When it was levelled."""


@dataclass(frozen=True)
class Question:
    """Something the helper asked and waits for."""

    topic: str
    """What it is about."""
    command: str
    """Command that waits."""
    slots: dict[str, SlotValue]
    """Its slots."""
    answer: AnswerKind
    """What kind of answer it takes."""
    choices: tuple[str, ...] = ()
    """Parts to choose from."""


@dataclass(frozen=True)
class Reading:
    """The air and the surfaces as they were known from an instant on."""

    at_utc: datetime
    """From then on."""
    air_c: float | None
    """Air temperature."""
    rh_percent: float | None
    """Relative humidity."""
    panel_c: dict[str, float]
    """Surface temperature by panel; '' for the car."""


@dataclass(frozen=True)
class Trial:
    """A trial wipe, whatever became of its panel since."""

    at_utc: datetime
    """When."""
    result: TrialResult
    """How it went."""
    cure_s: float
    """Cure since covered, seconds of the reference air."""
    from_first_s: float
    """The same since the first stroke."""
    rate: float
    """Mean rate of cure until then."""


@dataclass(frozen=True)
class AlertMemory:
    """How often an alert was raised, and whether somebody answered it."""

    due_at_utc: datetime
    """Due time of the alert that is remembered; another due time is another alert."""
    raised_at_utc: datetime
    """Last time."""
    repeat: int
    """0 after the first time."""
    answered: bool = False
    """Whether its urgency was silenced since."""


@dataclass(frozen=True)
class Note:
    """A dictated note, its recordings and what they say."""

    id: str
    """Such as 'n1'."""
    panel: str
    """Panel it is about, or empty."""
    started_at_utc: datetime
    """When dictation began."""
    clips: tuple[str, ...] = ()
    """Kept recordings, in order."""
    transcripts: tuple[str, ...] = ()
    """Transcript of each stretch as it was said."""
    again: str = ""
    """Transcript of the whole, made anew from the recordings; empty when it was not."""

    @property
    def text(self) -> str:
        """The best transcript there is."""
        return self.again or " ".join(self.transcripts)


@dataclass(frozen=True)
class Job:
    """One car at work, as the decisions so far have made it."""

    id: str
    """Id."""
    plan: Plan
    """Copy of the plan."""
    body: Body
    """Copy of the body."""
    products: dict[str, Product]
    """Copies of the product sheets by id."""
    technicians: tuple[str, ...]
    """Names that may be said first."""
    dialect: Literal["uk", "us"]
    """Dialect spoken."""
    steering: Literal["left", "right"]
    """Side of the driver."""
    car: str
    """Description of the vehicle."""
    opened_at_utc: datetime
    """When it was opened."""
    stage: str = "opened"
    """State of the job machine (tables.JOB_ROWS)."""
    stages_done: tuple[str, ...] = ()
    """Stages that were finished, in order."""
    paused: bool = False
    """Whether working time is stopped."""
    closed_at_utc: datetime | None = None
    """When it was closed."""
    layer: int = 1
    """Layer being laid."""
    air_c: float | None = None
    """Last air temperature."""
    air_rh_percent: float | None = None
    """Last relative humidity."""
    panel_c: dict[str, float] = field(default_factory=dict)
    """Last surface temperature by panel; '' for the car."""
    readings: tuple[Reading, ...] = ()
    """The air and surfaces after each reading, rising in time."""
    measured_at_utc: dict[str, datetime] = field(default_factory=dict)
    """When 'temp' and 'humidity' were last measured."""
    air_stale_s: float = 3600.0
    """Readings older than this are stale, seconds."""
    trial_log: tuple[Trial, ...] = ()
    """Every trial wipe of the job."""
    day_window: Window | None = None
    """The day's figure, once it was announced."""
    films: dict[str, tuple[float, ...]] = field(default_factory=dict)
    """Film readings by panel, micrometres."""
    flags: dict[str, Flag] = field(default_factory=dict)
    """Flag by panel."""
    parts: dict[str, Part] = field(default_factory=dict)
    """Every part by key."""
    lay_downs: tuple[tuple[str, float, float], ...] = ()
    """Measured lay-downs: technician, square metres, seconds."""
    machining: str = ""
    """Panel under the machine."""
    pad: Pad = Pad()
    """The pad."""
    dwells: dict[Agent, Timed] = field(default_factory=dict)
    """Removers that dwell, by agent."""
    residues: dict[str, Timed] = field(default_factory=dict)
    """Residue that waits, by panel."""
    laps: frozenset[tuple[str, LapAct, int]] = frozenset()
    """Seams lapped: seam, act ('laying' or 'wiping'), layer."""
    defects: tuple[Defect, ...] = ()
    """What was found."""
    batch: str = ""
    """Batch number of the coating."""
    applicator_changed_at_utc: datetime | None = None
    """When a fresh applicator was last taken; None for not since the opening."""
    towels_changed_at_utc: datetime | None = None
    """The same of towels."""
    question: Question | None = None
    """What waits for an answer."""
    alerts: dict[tuple[str, str], AlertMemory] = field(default_factory=dict)
    """Alerts raised so far, by kind and subject."""
    notes: tuple[Note, ...] = ()
    """Notes."""
    photos: tuple[PhotoKept, ...] = ()
    """Photographs."""
    dictating: bool = False
    """Whether a note is being dictated."""
    asleep: bool = False
    """Whether only 'wake' is acted on."""
    last_spoken: str = ""
    """Last sentence."""
    misses: int = 0
    """Addressed utterances in a row that were not understood."""
    decisions: tuple[Decision, ...] = ()
    """All decisions so far."""
    wall_ahead_s: float = 0.0
    """How far the computer's clock was set forward since the job was opened, seconds. All times of
    the job are those of the clock as it was then."""
    undone: frozenset[int] = frozenset()
    """Numbers of the decisions taken back."""

    def part(self, panel: str, half: str = "") -> Part:
        """The part as it stands; a half that has no state of its own has its panel's."""
        key = part_key(panel, half)
        if key in self.parts:
            return self.parts[key]
        whole = self.parts.get(panel, Part(panel=panel))
        return Part(
            panel=panel,
            half=half,
            state=whole.state,
            layer=whole.layer,
            prepped_at_utc=whole.prepped_at_utc,
            fresh_s=whole.fresh_s,
        )

    def parts_of(self, panel: str) -> tuple[Part, ...]:
        """The halves that have states of their own, or else the whole panel."""
        halves = tuple(p for p in self.parts.values() if p.panel == panel and p.half)
        return halves or (self.part(panel),)

    def open_parts(self) -> tuple[Part, ...]:
        """Parts with product on them, the one laid first first; small ones before their panel."""
        found = [p for p in self.parts.values() if p.state in OPEN_STATES]

        def age(part: Part) -> tuple[datetime, bool, str]:
            return (
                part.coat.started_at_utc or self.opened_at_utc,
                not part.coat.included_in,
                part.key,
            )

        return tuple(sorted(found, key=age))

    def open_own_parts(self) -> tuple[Part, ...]:
        """Those of them that were laid for themselves, and not done with another panel."""
        return tuple(part for part in self.open_parts() if not part.coat.included_in)

    def product(self, role: str) -> Product | None:
        """The product that the plan names for a role."""
        return self.products.get(self.plan.products.get(role, ""))

    @property
    def number(self) -> int:
        """Number of the last decision."""
        return self.decisions[-1].number if self.decisions else 0
