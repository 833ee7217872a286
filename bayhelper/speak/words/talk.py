"""Words about talking itself: taken back, misheard, not understood, not now."""

from __future__ import annotations

from bayhelper.speak.names import Names
from bayhelper.speak.wording import part_name, says, stage_name, told
from bayhelper.terms.subjects import talk as say

STATES = {
    "waiting": "is not started",
    "machining": "is being machined",
    "machined": "is machined",
    "prepped": "is prepped",
    "stale": "needs its panel wipe",
    "laying": "is being laid",
    "covered": "is covered",
    "levelled": "is levelled",
    "buffed": "is buffed",
    "done": "was looked over",
    "rework": "is back for correction",
}
"""How a panel stands, by the state of its machine."""


def _taken_back(saying: say.UndoneReply | say.MisheardQuestion, names: Names) -> str:
    return told(part_name(names, saying.panel), f"{saying.act.lower()} taken back")


def _misheard(saying: say.MisheardQuestion, names: Names) -> str:
    return f"{_taken_back(saying, names)} Say it again." if saying.act else "Say it again."


def _panel_not_now(saying: say.PanelNotNowRefusal, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    return told(f"{part} {STATES[saying.state]}", "not that now")


SENTENCES = (
    says(say.NothingToUndoReply, "Nothing to take back."),
    says(say.UndoneReply, _taken_back),
    says(say.MisheardQuestion, _misheard),
    says(say.QuieterReply, "Softer."),
    says(say.LouderReply, "Louder."),
    says(say.AsleepReply, "Asleep. Say wake up please."),
    says(say.AwakeReply, "Listening."),
    says(say.DidYouMeanQuestion, lambda saying, _: f"{saying.phrase.capitalize()}?"),
    says(say.LookAtBoardRefusal, "Not understood. Look at the board."),
    says(
        say.NotNowRefusal,
        lambda saying, _: told(f"not now, in {stage_name(saying.stage)}", "ask what is next"),
    ),
    says(say.PanelNotNowRefusal, _panel_not_now),
    says(say.NoSuchPanelRefusal, "This car has no such panel."),
    says(say.NothingAskedReply, "Nothing was asked."),
    says(say.LeftAloneReply, "Left alone."),
)
"""What is said about talking itself."""
