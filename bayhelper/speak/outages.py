"""What is said and shown when a part of the helper fails, by the part that still works."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

OutageName = Literal[
    "microphone_lost",
    "microphone_back",
    "noise",
    "noise_over",
    "ear_lost",
    "loudspeaker_lost",
    "loudspeaker_back",
    "voice_lost",
    "headset",
]


@dataclass(frozen=True)
class Outage:
    """One part fails, or works again."""

    shown: str
    """For the terminal; `{text}` is the reason."""
    spoken: str = ""
    """For the loudspeaker; empty where that is what failed, or nobody need hear of it."""


OUTAGES: dict[OutageName, Outage] = {
    "microphone_lost": Outage(
        "MICROPHONE LOST, nothing is heard: {text}", "Microphone lost. I cannot hear you."
    ),
    "microphone_back": Outage("The microphone is there again ({text}).", "I can hear you again."),
    "noise": Outage(
        "TOO LOUD TO HEAR where one sentence ends. Use the keyboard button or a headset.",
        "Too loud. I cannot hear you.",
    ),
    "noise_over": Outage("Quiet enough to hear again.", "I can hear you again."),
    "ear_lost": Outage(
        "THE EAR STOPPED: {text} It is started again.", "My ear stopped. I start it again."
    ),
    "loudspeaker_lost": Outage("LOUDSPEAKER LOST, alerts are shown here only: {text}"),
    "loudspeaker_back": Outage("The loudspeaker is there again."),
    "voice_lost": Outage("The voice is gone: {text} Tones and this terminal go on."),
    "headset": Outage(
        "The noise is too loud for the loudness that was set. A headset would be heard."
    ),
}
"""By name."""
