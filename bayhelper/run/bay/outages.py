"""A part of the helper fails or works again: told by the part that still works, and shown."""

from __future__ import annotations

from bayhelper.hear.capture.microphone import MicrophoneState
from bayhelper.hear.ear_process import Beat
from bayhelper.run.bay.door import Arrival
from bayhelper.run.clock import BayClock
from bayhelper.show.timeline import Timeline
from bayhelper.speak.live_mouth import LiveMouth
from bayhelper.speak.outages import OUTAGES, OutageName
from bayhelper.speak.speaker_reports import Began, Ended, SpeakerState, VoiceFailed


class Outages:
    """Knows what is lost, so that each loss is told once."""

    def __init__(self, mouth: LiveMouth, timeline: Timeline, clock: BayClock) -> None:
        self._mouth, self._timeline, self._clock = mouth, timeline, clock
        self._lost: set[str] = set()
        self._blind = self._advised = False

    def handle(self, thing: Arrival) -> None:
        if isinstance(thing, Began | Ended):
            self._mouth.handle(thing)
        elif isinstance(thing, Beat):
            self._noise(thing)
        elif isinstance(thing, MicrophoneState):
            self._microphone(thing)
        elif isinstance(thing, SpeakerState):
            name: OutageName = "loudspeaker_back" if thing.alive else "loudspeaker_lost"
            self.tell("loudspeaker", thing.alive, name, thing.text)
        elif isinstance(thing, VoiceFailed):
            if "voice" not in self._lost:
                self.tell("voice", False, "voice_lost", thing.text)
            self._lost.add("voice")

    def look_after(self) -> None:
        """See Attendant; nothing hangs here."""

    def tell(self, part: str, alive: bool, name: OutageName, why: str = "") -> None:
        """In the timeline, and aloud where there are words for it."""
        now_utc = self._clock.now_utc()
        self._timeline.part(now_utc, part, alive, OUTAGES[name].shown.format(text=why))
        self._mouth.announce(now_utc, name)

    def _noise(self, beat: Beat) -> None:
        if beat.blind != self._blind:
            self._blind = beat.blind
            self.tell("ear", not beat.blind, "noise" if beat.blind else "noise_over")
        if self._mouth.noise(beat.floor_db) and not self._advised:
            self._advised = True
            self._timeline.notice(OUTAGES["headset"].shown)

    def _microphone(self, state: MicrophoneState) -> None:
        part = f"microphone {state.name}"
        if not state.alive:
            self._lost.add(part)
            self.tell(part, False, "microphone_lost", state.text)
        elif part in self._lost:
            self._lost.discard(part)
            self.tell(part, True, "microphone_back", state.text)
