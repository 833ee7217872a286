"""`bayhelper work`: following a job from recordings, raw sound or typed lines."""

from __future__ import annotations

import argparse
import queue
import re
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import timedelta

from bayhelper.hear.capture.recording import stream_utterances
from bayhelper.hear.typed import typed_utterances
from bayhelper.run.bay.bay import Bay
from bayhelper.run.bay.live_session import work_live
from bayhelper.run.bay.playback import advance, play, takes_of
from bayhelper.run.bay.session import open_job, open_session
from bayhelper.run.bay.timekeeping import clock_after, keep_time
from bayhelper.run.clock import ManualClock, SystemClock
from bayhelper.run.mouth import Mouth
from bayhelper.run.parts import TypedEar, open_ear
from bayhelper.run.settings import data_folder, load_settings
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.errors import RunError
from bayhelper.terms.ports import Listener
from bayhelper.terms.utterance import Utterance

WAIT = re.compile(r"wait (\d+(?:\.\d+)?) (second|minute|hour)s?")
SECONDS = {"second": 1, "minute": 60, "hour": 3600}
LONGEST_SLEEP_S = 1.0


def run(options: argparse.Namespace) -> int:
    """Follow the job until the source ends."""
    folder = data_folder(options.data)
    settings = load_settings(folder, plan=options.plan, body=options.body, engine=options.engine)
    if not (options.from_audio or options.stdin or options.typed):
        if options.fast:
            raise RunError("--fast is for recordings and typed lines. Leave it out.")
        return work_live(folder, settings, sys.stdin, sys.stdout)
    clock, set_back_s = clock_after(open_job(folder))
    with ExitStack() as stack:
        ear: Listener = TypedEar() if options.typed else stack.enter_context(open_ear(settings))
        bay, mouth = stack.enter_context(
            open_session(
                folder,
                settings,
                ear=ear,
                player=FolderPlayer(folder / "prompts"),
                now_utc=clock.now_utc(),
                terminal=sys.stdout,
                timeline_file=folder / "timeline.jsonl",
                live=not (options.fast or options.from_audio),
            )
        )
        if set_back_s and not (options.from_audio or options.fast):
            bay.clock_set(-set_back_s, clock.now_utc())
        if options.from_audio:
            manual = ManualClock(clock.now_utc())
            play(
                takes_of(options.from_audio),
                bay,
                mouth,
                manual,
                fast=options.fast,
                patience_s=settings.patience_s,
                suppressor=settings.suppressor,
            )
        elif options.typed and options.fast:
            _typed_fast(bay, mouth, ManualClock(clock.now_utc()))
        elif options.typed:
            _live(typed_utterances(sys.stdin), bay, clock)
        else:
            sound = stream_utterances(
                sys.stdin.buffer,
                options.rate,
                settings.patience_s,
                settings.suppressor,
                lambda utterance: bay.is_whole(utterance, clock.now_utc()),
            )
            _live(sound, bay, clock)
    return 0


def _typed_fast(bay: Bay, mouth: Mouth, clock: ManualClock) -> None:
    """Typed lines on a clock of their own: 'wait 5 minutes' lets time pass at once."""
    for utterance in typed_utterances(sys.stdin):
        waited = WAIT.fullmatch(utterance.typed.lower())
        if waited:
            seconds = float(waited[1]) * SECONDS[waited[2]]
            advance(bay, clock, clock.now_utc() + timedelta(seconds=seconds))
            continue
        advance(bay, clock, max(clock.now_utc(), mouth.speaking_until_utc))
        bay.take(utterance, clock.now_utc())


def _live(source: Iterator[Utterance], bay: Bay, clock: SystemClock) -> None:
    """The one crossing between a thread that waits for speech and the loop that keeps time."""
    arrived: queue.Queue[Utterance | BaseException | None] = queue.Queue()

    def listen() -> None:
        try:
            for utterance in source:
                arrived.put(utterance)
        except Exception as error:  # handed to the loop, which raises it
            arrived.put(error)
        arrived.put(None)

    threading.Thread(target=listen, name="source", daemon=True).start()
    while True:
        keep_time(bay, clock)
        due_utc = bay.next_due_utc()
        left_s = LONGEST_SLEEP_S
        if due_utc is not None:
            left_s = min(left_s, max(0.0, (due_utc - clock.now_utc()).total_seconds()))
        try:
            item = arrived.get(timeout=left_s) if left_s > 0 else arrived.get_nowait()
        except queue.Empty:
            bay.pass_time(clock.now_utc())
            continue
        if isinstance(item, BaseException):
            raise item
        if item is None:
            return
        bay.take(item, clock.now_utc())
