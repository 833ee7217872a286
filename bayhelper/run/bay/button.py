"""The button: it opens the window for words, or answers an alert."""

from __future__ import annotations

from bayhelper.run.bay.bay import Bay
from bayhelper.run.bay.conversation import Conversation
from bayhelper.run.bay.door import Arrival, Pressed
from bayhelper.run.clock import BayClock
from bayhelper.show.timeline import Timeline
from bayhelper.speak.live_mouth import LiveMouth
from bayhelper.terms.command import Command


class Button:
    """One button with one meaning."""

    def __init__(
        self,
        does: str,
        *,
        bay: Bay,
        mouth: LiveMouth,
        conversation: Conversation,
        timeline: Timeline,
        clock: BayClock,
    ) -> None:
        """`does` is the setting button_does: 'talk', 'answered' or 'off'."""
        self._does = does
        self._bay, self._mouth, self._conversation = bay, mouth, conversation
        self._timeline, self._clock = timeline, clock

    def handle(self, thing: Arrival) -> None:
        if not isinstance(thing, Pressed):
            return
        if self._does == "talk":
            self._mouth.give_way()
            self._timeline.notice("Button: listening, no address needed.")
            self._conversation.open_window()
        elif self._does == "answered":
            self._bay.press(Command("answered", {}), self._clock.now_utc())

    def look_after(self) -> None:
        """See Attendant; nothing hangs here."""
