"""Everything opened in order for work with a microphone, and closed again."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TextIO

from bayhelper.hear.accept import DEFAULT_ADDRESS
from bayhelper.run.bay.inbox import Inbox
from bayhelper.run.bay.keys import Keys
from bayhelper.run.bay.live import Live
from bayhelper.run.bay.session import open_bay, open_job
from bayhelper.run.bay.timekeeping import clock_after
from bayhelper.run.clock import steady_s
from bayhelper.run.live_mouth import LiveMouth
from bayhelper.run.naming_check import naming_warnings
from bayhelper.run.parts import TypedEar
from bayhelper.run.settings import Settings
from bayhelper.run.timeline import Timeline
from bayhelper.speak.speaker import Speaker
from bayhelper.speak.speaker_reports import SpeakerReport
from bayhelper.terms.ports import Voice


def work_live(folder: Path, settings: Settings, keyboard: TextIO, terminal: TextIO) -> int:
    """Follow the job until Ctrl-C."""
    if settings.address != DEFAULT_ADDRESS or settings.technicians:
        for warning in naming_warnings(settings):
            print(f"Warning: {warning}", file=terminal)
    with open_live(folder, settings, keyboard, terminal) as live:
        live.run()
    return 0


@contextmanager
def open_live(
    folder: Path, settings: Settings, keyboard: TextIO | None, terminal: TextIO | None
) -> Iterator[Live]:
    """Everything opened in order for work with a microphone, and closed again."""
    clock, set_back_s = clock_after(open_job(folder))
    with ExitStack() as stack:
        inbox: Inbox[SpeakerReport] = stack.enter_context(Inbox())
        keys = None
        if keyboard is not None and settings.button_does != "off":
            keys = stack.enter_context(Keys(keyboard, settings.button))
        speaker = stack.enter_context(
            Speaker(inbox.put, steady_s, device=settings.speaker, maximum=settings.loudness_max)
        )
        timelines: list[Timeline] = []

        def make_mouth(voice: Voice, timeline: Timeline) -> LiveMouth:
            timelines.append(timeline)
            mouth = LiveMouth(voice, timeline, speaker, steady_s, settings.loudness_max)
            return stack.enter_context(mouth)

        bay, mouth = stack.enter_context(
            open_bay(
                folder,
                settings,
                ear=TypedEar(),
                make_mouth=make_mouth,
                now_utc=clock.now_utc(),
                terminal=terminal,
                timeline_file=folder / "timeline.jsonl",
                live=True,
            )
        )
        if set_back_s:
            bay.clock_set(-set_back_s, clock.now_utc())
        live = Live(
            bay=bay,
            mouth=mouth,
            inbox=inbox,
            keys=keys,
            timeline=timelines[0],
            clock=clock,
            settings=settings,
        )
        stack.callback(live.close)
        yield live
