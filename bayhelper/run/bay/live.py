"""Following a job with a microphone: one loop that no decoder and no voice can hold up."""

from __future__ import annotations

import selectors
from collections import deque
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial

from bayhelper.hear.capture.caught import Caught, LineSpan, Pause
from bayhelper.hear.capture.cleaned_pointer import open_pointer
from bayhelper.hear.capture.microphone import MicrophoneState
from bayhelper.hear.child import Child
from bayhelper.hear.ear_process import (
    Beat,
    Broken,
    EarReport,
    End,
    HearingReply,
    HearingRequest,
    Prepare,
    serve_decoding,
    serve_listening,
)
from bayhelper.run.bay.bay import Bay
from bayhelper.run.bay.inbox import Inbox
from bayhelper.run.bay.keys import Keys
from bayhelper.run.bay.timekeeping import keep_time
from bayhelper.run.clock import SystemClock, steady_s
from bayhelper.run.live_mouth import LiveMouth
from bayhelper.run.parts import open_decoding, wanted_microphones
from bayhelper.run.settings import Settings
from bayhelper.run.timeline import Timeline
from bayhelper.run.turns import (
    Reading,
    Window,
    begins_at_our_end,
    is_not_ours_alone,
    lies_inside,
    spoken_over,
)
from bayhelper.speak.outages import SHOWN
from bayhelper.speak.speaker_reports import Began, Ended, SpeakerReport, SpeakerState, VoiceFailed
from bayhelper.terms.command import Command
from bayhelper.terms.scope import Scope

LONGEST_SLEEP_S = 1.0
MOST_WAITING = 8
"""So many utterances may wait for the decoder."""
STALLED_S = 20.0
"""A reading that takes so long will not come."""
NO_BEAT_S = 10.0
RESTART_S = 1.0
ANSWER_EVERY_S = 5.0


class Live:
    """The loop: the ear's pipes, the loudspeaker's reports, keys, and the next deadline."""

    def __init__(
        self,
        *,
        bay: Bay,
        mouth: LiveMouth,
        inbox: Inbox[SpeakerReport],
        keys: Keys | None,
        timeline: Timeline,
        clock: SystemClock,
        settings: Settings,
    ) -> None:
        """Starts the two processes of the ear; `close` ends them."""
        self._bay, self._mouth, self._inbox, self._keys = bay, mouth, inbox, keys
        self._timeline, self._clock, self._settings = timeline, clock, settings
        self._window = Window(settings.follow_on_s)
        self._spans: dict[int, LineSpan] = {}
        self._waiting: deque[Caught] = deque()
        self._pause: Pause | None = None
        self._reading: Reading | None = None
        self._prepared: Scope | None = None
        self._answered_s = float("-inf")
        self._count = 0
        self._beat_s = steady_s()
        self._blind = self._advised = self._ended = False
        self._decoding_ready = False
        self._lost: set[str] = set()
        self._restart_s: dict[str, float] = {}
        self._children: dict[str, Child] = {}
        self._selector = selectors.SelectSelector()  # takes any file
        self._selector.register(inbox, selectors.EVENT_READ, "speaker")
        if keys is not None:
            self._selector.register(keys, selectors.EVENT_READ, "keys")
        for part in ("listening", "decoding"):
            self._start(part)

    def close(self) -> None:
        """End the ear."""
        for child in self._children.values():
            child.close()
        self._selector.close()

    def end(self) -> None:
        """Leave the loop at its next turn."""
        self._ended = True

    @property
    def pids(self) -> dict[str, int]:
        """Process ids of the ear's two processes."""
        return {part: child.pid for part, child in self._children.items()}

    def run(self) -> None:
        """Until it is ended."""
        while not self._ended:
            self.turn()

    def turn(self) -> None:
        """Wait for the next thing that happens, and deal with it."""
        keep_time(self._bay, self._clock)
        for key, _ in self._selector.select(self._left_s()):
            self._bay.pass_time(self._clock.now_utc())
            if key.data == "speaker":
                for report in self._inbox.take():
                    self._speaker(report)
            elif key.data == "keys":
                self._key()
            else:
                self._receive(key.data)
        self._bay.pass_time(self._clock.now_utc())
        self._look_after()
        self._share()

    def _left_s(self) -> float:
        due_utc = self._bay.next_due_utc()
        if due_utc is None:
            return LONGEST_SLEEP_S
        left_s = (due_utc - self._clock.now_utc()).total_seconds()
        return min(LONGEST_SLEEP_S, max(0.0, left_s))

    def _start(self, part: str) -> None:
        settings = self._settings
        if part == "listening":
            pointer = partial(open_pointer, settings.patience_s, settings.suppressor)
            child = Child(serve_listening, wanted_microphones(settings), steady_s, pointer)
        else:
            child = Child(serve_decoding, partial(open_decoding, settings))
            self._decoding_ready, self._prepared = False, None
        self._children[part] = child
        self._beat_s = steady_s() + NO_BEAT_S
        self._selector.register(child.pipe, selectors.EVENT_READ, part)

    def _stop(self, part: str, why: str) -> None:
        """The process is gone, or of no use any more: say so, and start another one soon."""
        child = self._children.pop(part)
        self._selector.unregister(child.pipe)
        child.close()
        self._restart_s[part] = steady_s() + RESTART_S
        if part not in self._lost:
            self._lost.add(part)
            self._outage("ear", False, "ear_lost", why)
        if part == "decoding" and self._reading is not None:
            if self._reading.pause is None:
                self._waiting.appendleft(self._reading.caught)
            self._reading = None

    def _receive(self, part: str) -> None:
        child = self._children.get(part)
        if child is None:
            return
        try:
            report: EarReport = child.pipe.recv()
        except (EOFError, OSError):
            self._stop(part, f"The process for {part} ended.")
            return
        if isinstance(report, Broken):
            self._stop(part, report.text)
        elif isinstance(report, Beat):
            self._beat(report)
        elif isinstance(report, MicrophoneState):
            self._microphone(report)
        elif isinstance(report, Pause):
            self._pause = report
        elif isinstance(report, Caught):
            self._pause = None
            self._waiting.append(report)
            if len(self._waiting) > MOST_WAITING:
                self._waiting.popleft()
                self._timeline.notice("More is said than can be read; the oldest was let go.")
        elif isinstance(report, HearingReply):
            self._listened(report)
        elif part == "decoding":
            self._decoding_ready = True
            self._lost.discard(part)

    def _beat(self, beat: Beat) -> None:
        self._beat_s = steady_s()
        self._lost.discard("listening")
        if beat.blind != self._blind:
            self._blind = beat.blind
            name = "noise" if beat.blind else "noise_over"
            self._outage("ear", not beat.blind, name, "")
        if self._mouth.noise(beat.floor_db) and not self._advised:
            self._advised = True
            self._timeline.notice(SHOWN["headset"])

    def _microphone(self, state: MicrophoneState) -> None:
        part = f"microphone {state.name}"
        if not state.alive:
            self._lost.add(part)
            self._outage(part, False, "microphone_lost", state.text)
        elif part in self._lost:
            self._lost.discard(part)
            self._outage(part, True, "microphone_back", state.text)

    def _outage(self, part: str, alive: bool, name: str, why: str) -> None:
        """By the channel that still works, and in the timeline."""
        now_utc = self._clock.now_utc()
        self._timeline.part(now_utc, part, alive, SHOWN[name].format(text=why))
        self._mouth.announce(now_utc, name)

    def _speaker(self, report: SpeakerReport) -> None:
        now_utc = self._clock.now_utc()
        if isinstance(report, Began):
            self._sounding(LineSpan(report.number, report.at_s, float("inf"), report.text))
        elif isinstance(report, Ended) and report.number in self._spans:
            self._sounding(replace(self._spans[report.number], end_s=report.at_s))
        elif isinstance(report, SpeakerState):
            name = "loudspeaker_back" if report.alive else "loudspeaker_lost"
            text = SHOWN[name].format(text=report.text)
            self._timeline.part(now_utc, "loudspeaker", report.alive, text)
        elif isinstance(report, VoiceFailed):
            if "voice" not in self._lost:
                text = SHOWN["voice_lost"].format(text=report.text)
                self._timeline.part(now_utc, "voice", False, text)
            self._lost.add("voice")
        self._mouth.handle(report)

    def _sounding(self, span: LineSpan) -> None:
        self._spans[span.number] = span
        for number in sorted(self._spans)[:-20]:
            del self._spans[number]
        if child := self._children.get("listening"):
            child.send(span)

    def _key(self) -> None:
        keys = self._keys
        if keys is None:
            return
        pressed = keys.pressed()
        if not keys.open:
            self._selector.unregister(keys)
            self._keys = None
        if not pressed:
            return
        if self._settings.button_does == "talk":
            self._mouth.give_way()
            self._timeline.notice("Button: listening, no address needed.")
            self._window.open(steady_s())
        elif self._settings.button_does == "answered":
            self._bay.press(Command("answered", {}), self._clock.now_utc())

    def _look_after(self) -> None:
        """Start again what ended, and end what hangs."""
        now_s = steady_s()
        for part, at_s in list(self._restart_s.items()):
            if now_s >= at_s:
                del self._restart_s[part]
                self._start(part)
        if "listening" in self._children and now_s - self._beat_s > NO_BEAT_S:
            self._stop("listening", "The process that listens gave no sign of life.")
        if self._reading is not None and now_s - self._reading.begun_s > STALLED_S:
            lost = self._reading.caught
            self._reading = None
            self._stop("decoding", f"A reading took over {STALLED_S:g} s.")
            self._timeline.notice(f"Not read: {lost.utterance.end_s:.0f} s. Say it again.")

    def _share(self) -> None:
        """Give the decoder what was caught, or else what may be said next."""
        if self._mouth.reply_ended_s is not None:
            self._window.open(self._mouth.reply_ended_s)
        child = self._children.get("decoding")
        if child is None or self._reading is not None or not self._decoding_ready:
            return
        scope = self._bay.scope()
        pause, self._pause = self._pause, None
        if self._waiting:
            self._read(child, self._waiting.popleft(), scope, None)
        elif pause is not None and not pause.caught.over and not self._dictating:
            self._read(child, pause.caught, scope, pause.number)
        elif scope != self._prepared:
            self._prepared = scope
            child.send(Prepare(scope))

    def _read(self, child: Child, caught: Caught, scope: Scope, pause: int | None) -> None:
        self._count += 1
        self._reading = Reading(self._count, caught, steady_s(), pause)
        follow_on = self._dictating or self._follows_on(caught)
        child.send(HearingRequest(self._count, caught.utterance, scope, follow_on))

    @property
    def _dictating(self) -> bool:
        return self._bay.job is not None and self._bay.job.dictating

    def _follows_on(self, caught: Caught) -> bool:
        """Whether it began in the window, and before we spoke ourselves."""
        first_s = min((span.start_s for span in caught.over), default=float("inf"))
        return self._window.holds(caught.onset_s) and caught.onset_s < first_s

    def _listened(self, report: HearingReply) -> None:
        if self._reading is None or report.number != self._reading.number:
            return
        caught, pause, self._reading = self._reading.caught, self._reading.pause, None
        if pause is not None:
            if report.whole and (child := self._children.get("listening")):
                child.send(End(pause))
            return
        at_utc, hearing = self._spoken_utc(caught), report.hearing
        clear = hearing.accepted or hearing.addressed or self._dictating
        clear = clear or not begins_at_our_end(caught, self._spans.values())
        if clear and not caught.over:
            self._bay.act_on(hearing, at_utc)
            return
        hearing = spoken_over(hearing, caught.over)
        meant = hearing.addressed or (hearing.command is not None and self._follows_on(caught))
        if hearing.accepted or (self._dictating and not lies_inside(caught)):
            self._bay.act_on(hearing, at_utc)
        elif meant or self._may_be_meant(caught):
            self._bay.ask_again(hearing, at_utc)
        else:
            self._timeline.heard(at_utc, hearing)

    def _may_be_meant(self, caught: Caught) -> bool:
        """Somebody spoke over a sentence of ours: answered, but not each time people chat."""
        spoke = is_not_ours_alone(caught) or begins_at_our_end(caught, self._spans.values())
        if not spoke or caught.ended_s < self._answered_s + ANSWER_EVERY_S:
            return False
        self._answered_s = caught.ended_s
        return True

    def _spoken_utc(self, caught: Caught) -> datetime:
        """When the words ended, but not before what is written down already."""
        ago_s = max(0.0, steady_s() - caught.ended_s)
        spoken_utc = self._clock.now_utc() - timedelta(seconds=ago_s)
        job = self._bay.job
        return max(spoken_utc, job.decisions[-1].at_utc) if job else spoken_utc
