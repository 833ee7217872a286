"""`bayhelper work`: following a job from recordings, raw sound or typed lines."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import ExitStack

from bayhelper.hear.capture.recording import stream_utterances
from bayhelper.hear.patience import Judge
from bayhelper.hear.typed import typed_utterances
from bayhelper.run.bay.door import caught_now
from bayhelper.run.bay.live_session import work_live
from bayhelper.run.bay.loop import Loop
from bayhelper.run.bay.playback import play, play_lines, takes_of
from bayhelper.run.bay.session import Session, open_job, open_session
from bayhelper.run.bay.timekeeping import clock_after
from bayhelper.run.bay.utterance_thread import UtteranceThread
from bayhelper.run.bay.waiting import SystemWaits
from bayhelper.run.clock import ManualClock, SystemClock
from bayhelper.run.parts import TypedEar, open_ear
from bayhelper.run.settings import Settings, data_folder, load_settings
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.errors import RunError
from bayhelper.terms.utterance import Utterance


def run(options: argparse.Namespace) -> int:
    """Follow the job until the source ends."""
    folder = data_folder(options.data)
    settings = load_settings(folder, plan=options.plan, body=options.body, engine=options.engine)
    if not (options.from_audio or options.stdin or options.typed):
        if options.fast:
            raise RunError("--fast is for recordings and typed lines. Leave it out.")
        return work_live(folder, settings, sys.stdin, sys.stdout)
    system, set_back_s = clock_after(open_job(folder))
    manual = ManualClock(system.now_utc())
    manual_time = bool(options.from_audio or (options.typed and options.fast))
    with ExitStack() as stack:
        ear: Judge = TypedEar() if options.typed else stack.enter_context(open_ear(settings))
        session = stack.enter_context(
            open_session(
                folder,
                settings,
                ear=ear,
                player=FolderPlayer(folder / "prompts"),
                clock=manual if manual_time else system,
                terminal=sys.stdout,
                timeline_file=folder / "timeline.jsonl",
                live=not (options.fast or options.from_audio),
            )
        )
        if set_back_s and not (options.from_audio or options.fast):
            session.bay.clock_set(-set_back_s, system.now_utc())
        if options.from_audio:
            play(
                takes_of(options.from_audio),
                session,
                manual,
                fast=options.fast,
                patience_s=settings.patience_s,
                suppressor=settings.suppressor,
            )
        elif manual_time:
            play_lines(typed_utterances(sys.stdin), session, manual)
        elif options.typed:
            follow(typed_utterances(sys.stdin), session, system)
        else:
            follow(_raw_sound(options.rate, settings, session), session, system)
    return 0


def follow(utterances: Iterator[Utterance], session: Session, clock: SystemClock) -> None:
    """Act on what is said, as it is said, until it ends."""
    with UtteranceThread(utterances, clock.steady_s) as door:
        Loop(session.bay, SystemWaits(clock), (door,), (session.conversation,)).run()


def _raw_sound(rate_hz: int, settings: Settings, session: Session) -> Iterator[Utterance]:
    def whole(utterance: Utterance) -> bool:
        now_s = session.clock.steady_s()
        return session.conversation.is_whole(caught_now(utterance, now_s))

    return stream_utterances(
        sys.stdin.buffer, rate_hz, settings.patience_s, settings.suppressor, whole
    )
