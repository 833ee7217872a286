"""Everything opened in order for work with a microphone, and closed again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TextIO

from bayhelper.hear.accept import DEFAULT_ADDRESS
from bayhelper.hear.capture.cleaned_pointer import open_pointer
from bayhelper.hear.child import Child
from bayhelper.hear.ear_process import serve_decoding, serve_listening
from bayhelper.run.bay.button import Button
from bayhelper.run.bay.conversation import Conversation
from bayhelper.run.bay.door import Door, HalfName
from bayhelper.run.bay.inbox import Inbox
from bayhelper.run.bay.keys import Keys
from bayhelper.run.bay.loop import Loop
from bayhelper.run.bay.outages import Outages
from bayhelper.run.bay.session import OpenBay, open_bay, open_job
from bayhelper.run.bay.split_ear import Half, ProcessHalf, SplitEar
from bayhelper.run.bay.timekeeping import clock_after
from bayhelper.run.bay.waiting import SystemWaits, Waits
from bayhelper.run.clock import steady_s
from bayhelper.run.naming_check import naming_warnings
from bayhelper.run.parts import open_decoding, wanted_microphones
from bayhelper.run.settings import Settings
from bayhelper.show.timeline import Timeline
from bayhelper.speak.live_mouth import LiveMouth
from bayhelper.speak.speaker import Speaker
from bayhelper.terms.ports import Voice


@dataclass(frozen=True)
class LiveSession(OpenBay[LiveMouth]):
    """A bay where people hear us, and may speak while we do."""

    conversation: Conversation
    """With those who speak to it."""
    ear: SplitEar
    """Its ear."""
    loop: Loop
    """What keeps it going."""


def work_live(folder: Path, settings: Settings, keyboard: TextIO, terminal: TextIO) -> int:
    """Follow the job until Ctrl-C."""
    if settings.address != DEFAULT_ADDRESS or settings.technicians:
        for warning in naming_warnings(settings):
            print(f"Warning: {warning}", file=terminal)
    with open_live(folder, settings, keyboard, terminal) as live:
        live.loop.run()
    return 0


@contextmanager
def open_live(
    folder: Path, settings: Settings, keyboard: TextIO | None, terminal: TextIO | None
) -> Iterator[LiveSession]:
    """With the microphones and the loudspeaker that the settings name."""
    clock, set_back_s = clock_after(open_job(folder))
    with ExitStack() as stack:
        inbox = stack.enter_context(Inbox())
        doors: list[Door] = [inbox]
        if keyboard is not None and settings.button_does != "off":
            doors.append(stack.enter_context(Keys(keyboard, settings.button)))
        speaker = stack.enter_context(
            Speaker(inbox.put, steady_s, device=settings.speaker, maximum=settings.loudness_max)
        )

        def make_mouth(voice: Voice, timeline: Timeline) -> LiveMouth:
            mouth = LiveMouth(voice, timeline, speaker, steady_s, settings.loudness_max)
            return stack.enter_context(mouth)

        opened = stack.enter_context(
            open_bay(
                folder,
                settings,
                voice=None,
                make_mouth=make_mouth,
                clock=clock,
                terminal=terminal,
                timeline_file=folder / "timeline.jsonl",
                live=True,
            )
        )
        if set_back_s:
            opened.bay.clock_set(-set_back_s, clock.now_utc())
        halves = process_halves(settings)
        live = stack.enter_context(live_loop(opened, settings, halves, doors, SystemWaits(clock)))
        yield live


@contextmanager
def live_loop(
    opened: OpenBay[LiveMouth],
    settings: Settings,
    halves: Mapping[HalfName, Callable[[], Half]],
    doors: Sequence[Door],
    waits: Waits,
) -> Iterator[LiveSession]:
    """The loop over an open bay; `doors` are those beside the two halves of the ear."""
    bay, mouth, timeline, clock = opened.bay, opened.mouth, opened.timeline, opened.clock
    outages = Outages(mouth, timeline, clock)
    with SplitEar(halves, outages, clock) as ear:
        conversation = Conversation(
            bay=bay,
            mouth=mouth,
            reader=ear,
            timeline=timeline,
            clock=clock,
            follow_on_s=settings.follow_on_s,
        )
        button = Button(
            settings.button_does,
            bay=bay,
            mouth=mouth,
            conversation=conversation,
            timeline=timeline,
            clock=clock,
        )
        attendants = (ear, conversation, outages, button)
        loop = Loop(bay, waits, [*doors, *ear.sources], attendants)
        yield LiveSession(bay, mouth, timeline, clock, conversation, ear, loop)


def process_halves(settings: Settings) -> Mapping[HalfName, Callable[[], Half]]:
    """Each half of the ear in a process of its own, begun anew whenever it is asked for."""

    def listening() -> Half:
        pointer = partial(open_pointer, settings.patience_s, settings.suppressor)
        wanted = wanted_microphones(settings)
        return ProcessHalf(Child(serve_listening, wanted, steady_s, pointer))

    def decoding() -> Half:
        return ProcessHalf(Child(serve_decoding, partial(open_decoding, settings)))

    return {"listening": listening, "decoding": decoding}
