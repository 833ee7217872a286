"""What is said when a part of the helper fails, by the part that still works."""

from __future__ import annotations

SPOKEN = {
    "microphone_lost": "Microphone lost. I cannot hear you.",
    "microphone_back": "I can hear you again.",
    "noise": "Too loud. I cannot hear you.",
    "noise_over": "I can hear you again.",
    "ear_lost": "My ear stopped. I start it again.",
}
SHOWN = {
    "microphone_lost": "MICROPHONE LOST, nothing is heard: {text}",
    "microphone_back": "The microphone is there again ({text}).",
    "noise": "TOO LOUD TO HEAR where one sentence ends. Use the keyboard button or a headset.",
    "noise_over": "Quiet enough to hear again.",
    "ear_lost": "THE EAR STOPPED: {text} It is started again.",
    "loudspeaker_lost": "LOUDSPEAKER LOST, alerts are shown here only: {text}",
    "loudspeaker_back": "The loudspeaker is there again.",
    "voice_lost": "The voice is gone: {text} Tones and this terminal go on.",
    "headset": "The noise is too loud for the loudness that was set. A headset would be heard.",
}
