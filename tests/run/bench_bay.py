"""The live bay on a clock of its own: no process, no sound card, everything else as it is."""

from __future__ import annotations

import io
import json
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from bayhelper.decide.replay import fold
from bayhelper.hear.capture.caught import Caught
from bayhelper.hear.capture.cleaned_pointer import open_pointer
from bayhelper.hear.capture.played_sound import PlayedSound
from bayhelper.hear.capture.recording import read_sound
from bayhelper.hear.ear_here import DecodingHere, ListeningHere
from bayhelper.hear.ear_process import BEAT_S, Beat, Parts
from bayhelper.remember.history import History
from bayhelper.run.bay.door import Door
from bayhelper.run.bay.live_session import live_loop
from bayhelper.run.bay.session import open_bay
from bayhelper.run.bay.waiting import LONGEST_SLEEP_S, ManualWaits
from bayhelper.run.clock import ManualClock
from bayhelper.run.parts import TypedEar, build_library
from bayhelper.run.settings import Settings
from bayhelper.speak.clock_speaker import ClockSpeaker, SilentVoice
from bayhelper.speak.live_mouth import LiveMouth
from bayhelper.terms.events import SpeechHeard, Spoken
from bayhelper.terms.utterance import Utterance

COMMANDS = Path(__file__).parents[2] / "audio_fixtures" / "commands"
BEGAN_UTC = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
TO_COATING = (
    "open a new job",
    "start the wash",
    "start inspection",
    "start the panel wipe",
    "roof prepped",
    "bonnet prepped",
    "start coating",
)


class Later(Door):
    """What a test brings in, at once or later."""

    def __init__(self):
        self._things = []

    def put(self, at_utc, thing):
        self._things.append((at_utc, thing))
        self._things.sort(key=lambda pair: pair[0])

    def next_utc(self):
        return self._things[0][0] if self._things else None

    def take(self):
        return (self._things.pop(0)[1],)


class Quiet:
    """A half that listens where nobody speaks: it only gives its sign of life."""

    def __init__(self, clock):
        self._clock, self._beat_s = clock, clock.steady_s() + BEAT_S
        self.sent, self.dead, self.mute = [], False, False

    def fileno(self):
        return -1

    def next_utc(self):
        left_s = 0.0 if self.dead else self._beat_s - self._clock.steady_s()
        return None if self.mute else self._clock.now_utc() + timedelta(seconds=left_s)

    def receive(self):
        if self.dead:
            raise EOFError
        self._beat_s = self._clock.steady_s() + BEAT_S
        return (Beat(-60.0, 0, 0, False),)

    def send(self, message):
        self.sent.append(message)
        return True

    def die(self):
        self.dead = True

    def close(self):
        """Nothing is held."""


class Bench:
    """A bay at work, and what stands for the world around it."""

    def __init__(self, folder, settings, judge, hears):
        self.folder, self.settings, self._hears = folder, settings, hears
        self.clock = ManualClock(BEGAN_UTC)
        self.air, self.voice = PlayedSound(), SilentVoice()
        self.speaker, self.later = ClockSpeaker(self.clock), Later()
        self.terminal = io.StringIO()
        self.takes_s = 0.3
        self._parts = Parts(judge, build_library().offer)
        self.made = {"listening": [], "decoding": []}
        self.live = None

    def halves(self):
        return {"listening": self._listening, "decoding": self._decoding}

    def _listening(self):
        if not self._hears:
            return self._keep("listening", Quiet(self.clock))
        pointer = partial(open_pointer, self.settings.patience_s, "off")
        return self._keep("listening", ListeningHere(self.air, self.clock, pointer))

    def _decoding(self):
        return self._keep("decoding", DecodingHere(self._parts, self.clock, self.takes_s))

    def _keep(self, name, half):
        self.made[name].append(half)
        return half

    @property
    def now_s(self):
        return self.clock.steady_s()

    @property
    def job(self):
        return self.live.bay.job

    def put(self, thing, in_s=0.0):
        self.later.put(self.clock.now_utc() + timedelta(seconds=in_s), thing)

    def run(self, seconds):
        end_s = self.now_s + seconds
        while self.now_s < end_s:
            self.live.loop.turn()

    def until(self, holds, seconds=60.0):
        """Turn the loop until something holds; gives how long that took."""
        began_s = self.now_s
        while not holds():
            assert self.now_s < began_s + seconds, self.terminal.getvalue()[-2000:]
            self.live.loop.turn()
        return self.now_s - began_s

    def line(self, words, onset_s=None, ended_s=None, over=(), over_echo=False):
        """What a person says, as the half that listens gives it."""
        now_s = self.now_s
        utterance = Utterance(None, 0.0, 1.0, "typed", typed=words)
        ended_s = now_s if ended_s is None else ended_s
        onset_s = ended_s if onset_s is None else onset_s
        return Caught(utterance, onset_s, ended_s, now_s, over, 0.0, over_echo)

    def typed(self, *lines):
        """Say lines one after the other, each when the answer to the last is over."""
        for words in lines:
            self.put(self.line(words))
            self.live.loop.turn()
            self.until(lambda: self.live.conversation.idle)
            self.until(self.silent)

    def said(self, topic):
        """Whether a sentence of that topic was decided in this job."""
        decisions = self.job.decisions if self.job else ()
        events = [event for d in decisions for event in d.events if isinstance(event, Spoken)]
        return any(event.topic == topic for event in events)

    def silent(self):
        return self.speaker.next_utc() is None

    def play(self, name, in_s=0.2):
        """Say a recording into the microphone; gives when it ends, steady seconds."""
        return self.air.play(read_sound(COMMANDS / f"{name}.flac"), self.now_s + in_s)

    def rows(self, kind=None):
        lines = (self.folder / "timeline.jsonl").read_text(encoding="utf-8").splitlines()
        rows = [json.loads(line) for line in lines]
        return [row for row in rows if kind in (None, row["kind"])]

    def heard(self):
        return [(row["command"], row["accepted"], row["why"]) for row in self.rows("heard")]

    def parts(self):
        """Parts that were lost or came back, in order."""
        rows = self.rows("event")
        return [(r["part"], r["event"]) for r in rows if r["event"] in ("PartLost", "PartBack")]

    def tones(self):
        return [row["tone"] for row in self.rows("said") if row["topic"] == "tone"]

    def spoken(self):
        """Words that came out of the loudspeaker."""
        return [text for _, text in self.speaker.heard if text]

    def decisions(self):
        with History.open(self.folder) as history:
            return history.decisions(history.jobs()[-1])

    def recorded(self, kind):
        """Events of the journal as a reader finds them; each replay of it agrees with the bay."""
        decisions = self.decisions()
        if self.job is not None:
            assert fold(decisions) == self.job
        return [event for d in decisions for event in d.events if isinstance(event, kind)]

    def sentences(self):
        return [event.topic for event in self.recorded(Spoken)]

    def commands(self):
        return [event.command for event in self.recorded(SpeechHeard) if event.accepted]


@contextmanager
def bench_bay(folder, settings=None, judge=None, hears=False):
    """`judge` reads what is said, or else typed lines are; `hears` has sound played to it."""
    settings = settings or Settings(plan="coat_only", body="saloon")
    bench = Bench(folder, settings, judge or TypedEar(), hears)
    with ExitStack() as stack:

        def make_mouth(voice, timeline):
            mouth = LiveMouth(
                voice, timeline, bench.speaker, bench.clock.steady_s, settings.loudness_max
            )
            return stack.enter_context(mouth)

        opened = stack.enter_context(
            open_bay(
                folder,
                settings,
                voice=bench.voice,
                make_mouth=make_mouth,
                clock=bench.clock,
                terminal=bench.terminal,
                timeline_file=folder / "timeline.jsonl",
                live=True,
            )
        )
        waits = ManualWaits(bench.clock, look_s=LONGEST_SLEEP_S)
        doors = [bench.later, bench.speaker]
        bench.live = stack.enter_context(live_loop(opened, settings, bench.halves(), doors, waits))
        yield bench
