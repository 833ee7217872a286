"""Facts about a job, in the past tense: the only thing that is ever recorded.

A class's version goes up when the meaning of a field changes; readers refuse those they
do not know.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar, Literal

from bayhelper.terms.body import Body
from bayhelper.terms.command import SlotValue
from bayhelper.terms.plan import Plan
from bayhelper.terms.product import Product


@dataclass(frozen=True, kw_only=True)
class Event:
    """What every fact carries."""

    version: ClassVar[int] = 1
    at_utc: datetime
    """When it happened, aware, UTC."""
    by: str = ""
    """Technician's name, when it was said or known; empty otherwise."""


Cause = Literal["command", "deadline", "utterance", "repair"]
"""What made a decision."""


@dataclass(frozen=True, kw_only=True)
class Decision:
    """What came of one command or one deadline: one transaction of the journal."""

    job: str
    """Id of the job."""
    number: int
    """1, 2, 3 ... in the job, without gaps."""
    at_utc: datetime
    """When it was taken."""
    cause: Cause
    """What made it."""
    command: str = ""
    """Name of the command, for cause 'command'."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Its slots."""
    events: tuple[Event, ...] = ()
    """The facts, in order."""


@dataclass(frozen=True, kw_only=True)
class Window:
    """A setting window as computed when the panel was laid; replay never computes it again."""

    earliest_s: float
    """Not before, seconds after covered."""
    best_s: float
    """Aim for, seconds after covered."""
    latest_s: float
    """Not later, seconds after lay-down started."""
    product: str
    """Product id."""
    basis: str
    """How it was found, for people: 'sheet figure' and the like."""


# --- the job


@dataclass(frozen=True, kw_only=True)
class JobOpened(Event):
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
    stage: str
    """From terms.command.STAGES."""


@dataclass(frozen=True, kw_only=True)
class StageFinished(Event):
    stage: str
    """From terms.command.STAGES."""


@dataclass(frozen=True, kw_only=True)
class ClockSet(Event):
    """The computer's clock was set during the job; the job's own time goes on as it was."""

    step_s: float
    """Seconds forward; negative for back."""


# --- air and film


@dataclass(frozen=True, kw_only=True)
class AirTempRead(Event):
    temp_c: float
    """Degrees Celsius."""
    measured_at_utc: datetime | None = None
    """When it was measured, where that was not when it came."""
    source: Literal["said", "settings", "file"] = "said"
    """Where it came from."""


@dataclass(frozen=True, kw_only=True)
class HumidityRead(Event):
    humidity_percent: float
    """Relative humidity."""
    measured_at_utc: datetime | None = None
    """When it was measured, where that was not when it came."""
    source: Literal["said", "settings", "file"] = "said"
    """Where it came from."""


@dataclass(frozen=True, kw_only=True)
class PanelTempRead(Event):
    panel: str
    """Panel id, or empty for the car as a whole."""
    temp_c: float
    """Degrees Celsius."""


@dataclass(frozen=True, kw_only=True)
class FilmRead(Event):
    panel: str
    """Panel id."""
    film_um: float
    """Total film, micrometres."""


@dataclass(frozen=True, kw_only=True)
class PanelFlagged(Event):
    panel: str
    """Panel id."""
    flag: str
    """'repainted', 'thin', 'matte', 'wrapped', 'single_stage', 'plastic' or 'normal'."""


# --- wash and decontamination


@dataclass(frozen=True, kw_only=True)
class DwellStarted(Event):
    agent: str
    """Role of the product: 'pre_rinse_foam', 'iron_remover', 'tar_remover'."""
    product: str
    """Product id."""
    rinse_s: float
    """Rinse after this many seconds."""
    max_s: float
    """Must be off after this many seconds."""


@dataclass(frozen=True, kw_only=True)
class DwellEnded(Event):
    agent: str
    """Role of the product."""


# --- correction


@dataclass(frozen=True, kw_only=True)
class PanelStarted(Event):
    panel: str
    """Panel id."""
    insisted: bool = False
    """Whether a warning was overruled."""


@dataclass(frozen=True, kw_only=True)
class PanelFinished(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class PolishPutOn(Event):
    insisted: bool = False
    """Whether the pad was dirty and the person insisted."""


@dataclass(frozen=True, kw_only=True)
class SectionDone(Event):
    panel: str = ""
    """Panel id, empty when none was being machined."""


@dataclass(frozen=True, kw_only=True)
class PadCleaned(Event):
    assumed: bool = False
    """Whether nobody said so: the next section was done, and the habit set for the job is to
    clean the pad before it."""


@dataclass(frozen=True, kw_only=True)
class PadChanged(Event):
    pass


@dataclass(frozen=True, kw_only=True)
class ResidueLeft(Event):
    panel: str
    """Panel id."""
    wipe_s: float
    """To be wiped after at most this many seconds."""


@dataclass(frozen=True, kw_only=True)
class ResidueWiped(Event):
    panel: str
    """Panel id."""


# --- panel wipe


@dataclass(frozen=True, kw_only=True)
class PanelPrepped(Event):
    panel: str
    """Panel id."""
    fresh_s: float
    """How long it counts as fresh, seconds."""


@dataclass(frozen=True, kw_only=True)
class PrepWentStale(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class PanelTouched(Event):
    panel: str
    """Panel id."""


# --- coating


@dataclass(frozen=True, kw_only=True)
class LayDownStarted(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty for the whole panel."""
    layer: int = 1
    """Which layer, from 1."""
    window: Window
    """The window in force for it."""
    usual_s: float
    """The person's usual lay-down time for it, seconds."""
    assumed: bool = False
    """Whether the instant was worked out from 'covered' and the usual lay-down time."""
    insisted: bool = False
    """Whether a warning was overruled."""
    included_in: str = ""
    """Panel in whose lay-down this small part was done first; empty for its own."""


@dataclass(frozen=True, kw_only=True)
class Covered(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty for the whole panel."""
    layer: int = 1
    """Which layer, from 1."""
    assumed: bool = False
    """Whether the instant was worked out from 'started' and the usual lay-down time."""


@dataclass(frozen=True, kw_only=True)
class SeamLapped(Event):
    seam: str
    """Seam id."""
    panel: str
    """Panel from which it was lapped."""
    act: Literal["laying", "wiping"]
    """On the way on, or on the way off."""
    layer: int = 1
    """Which layer, from 1."""


@dataclass(frozen=True, kw_only=True)
class TrialMade(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""
    result: str
    """'wet', 'clean' or 'grabbing'."""
    covered_for_s: float
    """Seconds since covered."""
    cure_s: float | None = None
    """Cure since covered, in seconds of the sheet's reference air; None for the plain seconds."""
    from_first_s: float | None = None
    """The same since the first stroke."""
    rate: float = 1.0
    """Mean rate of cure until then, relative to the reference air."""


@dataclass(frozen=True, kw_only=True)
class WindowRetimed(Event):
    """The air, or what trials said, moved the window of an open part."""

    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""
    window: Window
    """The window now in force, cure added up over all the airs that the part saw."""


@dataclass(frozen=True, kw_only=True)
class DayFigureFound(Event):
    """A clean trial after a wet one: the day's window is known."""

    window: Window
    """For a panel that is begun in the present air."""
    low_s: float
    """Lower end of the interval of the best time, seconds after covered."""
    high_s: float
    """Its upper end."""


@dataclass(frozen=True, kw_only=True)
class Levelled(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""


@dataclass(frozen=True, kw_only=True)
class Buffed(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""


@dataclass(frozen=True, kw_only=True)
class Checked(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class DefectFound(Event):
    panel: str
    """Panel id."""
    kind: str
    """'high_spot', 'run' or 'water'."""
    place: str = ""
    """Where on it."""


@dataclass(frozen=True, kw_only=True)
class DefectFixed(Event):
    panel: str
    """Panel id."""
    kind: str = ""
    """Which kind, or empty for all of them."""


@dataclass(frozen=True, kw_only=True)
class SentBack(Event):
    panel: str
    """Panel that goes back to correction, panel wipe and coat."""


@dataclass(frozen=True, kw_only=True)
class TimeExtended(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""
    extra_s: float
    """Seconds added to the best and latest instants."""


@dataclass(frozen=True, kw_only=True)
class LayerStarted(Event):
    layer: int
    """Which layer, from 1."""


@dataclass(frozen=True, kw_only=True)
class BatchRead(Event):
    batch: str
    """Batch number of the coating; digits when it was spoken."""


@dataclass(frozen=True, kw_only=True)
class ApplicatorChanged(Event):
    pass


@dataclass(frozen=True, kw_only=True)
class TowelsChanged(Event):
    pass


# --- listening, speaking and talking back


@dataclass(frozen=True, kw_only=True)
class SpeechHeard(Event):
    utterance: str
    """Id of the utterance, unique in the job."""
    text: str
    """What was read."""
    command: str = ""
    """Name of the command understood, or empty."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Its slots."""
    accepted: bool
    """Whether it was acted on."""
    why: str = ""
    """Reason."""
    confidence: float = 0.0
    """0 to 1."""
    engine: str = ""
    """Who read it."""
    clip: str = ""
    """File name of the FLAC in the job's folder; empty for a typed line."""
    clip_sha256: str = ""
    """SHA-256 of that file in hexadecimal digits; empty for a typed line."""


@dataclass(frozen=True, kw_only=True)
class Misheard(Event):
    decision: int
    """Number of the decision that came of a misheard recording."""


@dataclass(frozen=True, kw_only=True)
class Undone(Event):
    decision: int
    """Number of the decision taken back."""
    command: str
    """Its command."""


@dataclass(frozen=True, kw_only=True)
class Spoken(Event):
    topic: str
    """Key of the sentence."""
    text: str
    """The words."""


@dataclass(frozen=True, kw_only=True)
class QuestionAsked(Event):
    topic: str
    """What was asked or refused, such as 'dirty_pad'."""
    command: str
    """Command that waits for the answer."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Its slots."""
    answer: Literal["yes_no", "insist", "which"]
    """What kind of answer it takes."""
    choices: tuple[str, ...] = ()
    """Parts to choose from, for 'which': answered by naming one."""


@dataclass(frozen=True, kw_only=True)
class QuestionSettled(Event):
    answer: Literal["yes", "no", "insisted", "lapsed", "chosen"]
    """How it ended."""


@dataclass(frozen=True, kw_only=True)
class AlertRaised(Event):
    alert: str
    """Kind: 'trial_ready', 'wipe_now', 'closing', 'overdue', 'recoat_open', 'recoat_closing',
    'recoat_missed', 'dwell_due', 'dwell_over', 'look_again', 'pad_due', 'bare_seams',
    'towels_due', 'residue_due', 'prep_stale', 'air_stale'."""
    subject: str
    """What it is about: a part ('roof', 'bonnet/left'), an agent, 'pad'."""
    due_at_utc: datetime
    """When it fell due."""
    repeat: int = 0
    """0 for the first time, then 1, 2 ..."""


@dataclass(frozen=True, kw_only=True)
class AlertAnswered(Event):
    urgency: int
    """Level that was silenced."""
    subjects: tuple[str, ...] = ()
    """What it was about."""


@dataclass(frozen=True, kw_only=True)
class NoteStarted(Event):
    note: str
    """Id of the note."""
    panel: str = ""
    """Panel it is about, if said."""


@dataclass(frozen=True, kw_only=True)
class NoteClipKept(Event):
    note: str
    """Id of the note."""
    clip: str
    """File name of the FLAC in the job's folder; empty for a typed line."""
    length_s: float
    """Seconds of sound."""
    transcript: str = ""
    """Best transcript there is."""
    clip_sha256: str = ""
    """SHA-256 of that file in hexadecimal digits; empty for a typed line."""


@dataclass(frozen=True, kw_only=True)
class NoteTranscribed(Event):
    note: str
    """Id of the note."""
    transcript: str
    """What its recordings say, read again; the earlier transcripts stay."""
    made_by: str
    """Which recogniser read them."""


@dataclass(frozen=True, kw_only=True)
class PhotoKept(Event):
    file: str
    """Name of the copy in the job's folder of photographs."""
    sha256: str
    """SHA-256 of it in hexadecimal digits."""
    taken_at_utc: datetime
    """When it was taken."""
    time_from: str
    """'exif' when the picture says so, 'file' when only the file does."""
    stage: str = ""
    """Stage then running; empty before the job."""
    panel: str = ""
    """Panel then worked on; empty for the car."""


@dataclass(frozen=True, kw_only=True)
class NoteEnded(Event):
    note: str
    """Id of the note."""


@dataclass(frozen=True, kw_only=True)
class ListeningSet(Event):
    mode: Literal["asleep", "awake"]
    """Whether commands are acted on."""
