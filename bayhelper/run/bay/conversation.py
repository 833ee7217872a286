"""Whose turn it is: what was caught is read in order, and held against what we say ourselves."""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from datetime import datetime, timedelta

from bayhelper.decide.job.state import Job
from bayhelper.hear.capture.caught import Caught, LineSpan, Pause
from bayhelper.hear.ear_process import HearingReply, HearingRequest
from bayhelper.hear.turns import (
    FollowOn,
    UnderReading,
    begins_at_our_end,
    is_not_ours_alone,
    lies_inside,
    spoken_over,
)
from bayhelper.run.bay.bay import Bay
from bayhelper.run.bay.door import Arrival, HalfEnded, HalfReady
from bayhelper.run.bay.reader import Reader
from bayhelper.run.clock import BayClock
from bayhelper.show.timeline import Timeline
from bayhelper.speak.mouth import Speaks
from bayhelper.speak.speaker_reports import Began, Ended
from bayhelper.terms.scope import Scope
from bayhelper.understand.offer import plain_words

MOST_WAITING = 8
"""So many utterances may wait for the decoder (chosen, no source)."""
STALLED_S = 20.0
"""A reading that takes so long will not come (chosen, no source)."""
ANSWER_EVERY_S = 5.0
"""Who chats over our sentences is answered no more often than that (chosen, no source)."""
KNOWN_LINES = 20
"""So many of our last lines are remembered: more than sound during one utterance."""


class Conversation:
    """Between people and the bay, by whichever door they speak."""

    def __init__(
        self,
        *,
        bay: Bay,
        mouth: Speaks,
        reader: Reader,
        timeline: Timeline,
        clock: BayClock,
        follow_on_s: float,
    ) -> None:
        self._bay, self._mouth, self._reader = bay, mouth, reader
        self._timeline, self._clock = timeline, clock
        self._window = FollowOn(follow_on_s)
        self._spans: dict[int, LineSpan] = {}
        self._waiting: deque[Caught] = deque()
        self._pause: Pause | None = None
        self._reading: UnderReading | None = None
        self._prepared: Scope | None = None
        self._allowed: tuple[Job | None, Scope] | None = None
        self._answered_s = float("-inf")
        self._count = 0

    @property
    def idle(self) -> bool:
        """Whether nothing is being read, nor waits for it."""
        return self._reading is None and not self._waiting

    def open_window(self) -> None:
        """From now on words need no address, for a while."""
        now_s = self._clock.steady_s()
        self._window.open(now_s, now_s)

    def handle(self, thing: Arrival) -> None:
        if isinstance(thing, Caught):
            self._caught(thing)
        elif isinstance(thing, Pause):
            self._pause = thing
        elif isinstance(thing, HearingReply):
            self._listened(thing)
        elif isinstance(thing, Began):
            self._sounding(LineSpan(thing.number, thing.at_s, float("inf"), thing.text))
        elif isinstance(thing, Ended) and thing.number in self._spans:
            self._sounding(replace(self._spans[thing.number], end_s=thing.at_s))
        elif isinstance(thing, HalfReady) and thing.half == "decoding":
            self._prepared = None
        elif isinstance(thing, HalfEnded) and thing.half == "decoding":
            self._read_again()

    def look_after(self) -> None:
        """See Attendant: give up a reading that hangs, and begin the next."""
        reading = self._reading
        if reading is not None and self._clock.steady_s() - reading.begun_s > STALLED_S:
            self._reading = None
            self._reader.restart(f"A reading took over {STALLED_S:g} s.")
            length_s = reading.caught.utterance.end_s
            self._timeline.notice(f"Not read: {length_s:.0f} s. Say it again.")
        self._share()

    def is_whole(self, caught: Caught) -> bool:
        """Whether what was said up to a pause is a whole command, so that it may end there.

        Only for a reader that answers at once; a pause that comes by a door is read in its turn.
        """
        if self._bay.dictating:
            return False
        listen = HearingRequest(0, caught.utterance, self._scope(), self._follows_on(caught))
        listened = self._reader.read(listen)
        return listened is not None and listened.whole

    def _scope(self) -> Scope:
        """What may be said now; reckoned once for each state of the job."""
        job = self._bay.job
        if self._allowed is None or self._allowed[0] is not job:
            self._allowed = (job, self._bay.scope())
        return self._allowed[1]

    def _caught(self, caught: Caught) -> None:
        self._pause = None
        self._waiting.append(caught)
        if len(self._waiting) > MOST_WAITING:
            self._waiting.popleft()
            self._timeline.notice("More is said than can be read; the oldest was let go.")

    def _sounding(self, span: LineSpan) -> None:
        self._spans[span.number] = span
        for number in sorted(self._spans)[:-KNOWN_LINES]:
            del self._spans[number]
        self._reader.sounding(span)

    def _read_again(self) -> None:
        """The decoder is gone: what it was busy with comes first when there is another."""
        reading, self._reading = self._reading, None
        if reading is not None and reading.pause is None:
            self._waiting.appendleft(reading.caught)

    def _share(self) -> None:
        """Give the decoder what was caught, or else what may be said next."""
        while True:
            if self._mouth.reply_s is not None:
                self._window.open(*self._mouth.reply_s)
            if self._reading is not None or not self._reader.ready:
                return
            scope = self._scope()
            pause, self._pause = self._pause, None
            if self._waiting:
                self._read(self._waiting.popleft(), scope, None)
            elif pause is not None and not pause.caught.over and not self._bay.dictating:
                self._read(pause.caught, scope, pause.number)
            else:
                if scope != self._prepared:
                    self._prepared = scope
                    self._reader.prepare(scope)
                return

    def _read(self, caught: Caught, scope: Scope, pause: int | None) -> None:
        self._count += 1
        self._reading = UnderReading(self._count, caught, self._clock.steady_s(), pause)
        follow_on = self._bay.dictating or self._follows_on(caught)
        request = HearingRequest(self._count, caught.utterance, scope, follow_on)
        listened = self._reader.read(request)
        if listened is not None:
            self._listened(listened)

    def _follows_on(self, caught: Caught) -> bool:
        """Whether it began in the window, and before we spoke ourselves; a note always does."""
        first_s = min((span.start_s for span in caught.over), default=float("inf"))
        return self._window.holds(caught.onset_s) and caught.onset_s < first_s

    def _listened(self, listened: HearingReply) -> None:
        reading = self._reading
        if reading is None or listened.number != reading.number:
            return
        self._reading = None
        caught, hearing = reading.caught, listened.hearing
        if reading.pause is not None:
            if listened.whole:
                self._reader.end(reading.pause)
            return
        at_utc, dictating = self._spoken_utc(caught), self._bay.dictating
        clear = hearing.accepted or hearing.addressed or dictating
        clear = clear or not begins_at_our_end(caught, self._spans.values())
        if clear and not caught.over:
            self._bay.act_on(hearing, at_utc)
            return
        hearing = spoken_over(hearing, caught.over, plain_words)
        meant = hearing.addressed or (hearing.command is not None and self._follows_on(caught))
        if hearing.accepted or (dictating and not lies_inside(caught)):
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
        ago_s = max(0.0, self._clock.steady_s() - caught.ended_s)
        spoken_utc = self._clock.now_utc() - timedelta(seconds=ago_s)
        job = self._bay.job
        return max(spoken_utc, job.decisions[-1].at_utc) if job else spoken_utc
