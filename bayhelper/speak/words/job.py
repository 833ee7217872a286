"""Words about opening and closing a job, its stages, and pausing."""

from __future__ import annotations

from bayhelper.speak.durations import counted, duration_words
from bayhelper.speak.names import Names
from bayhelper.speak.wording import counted_bare, parts_listed, says, sentence, stage_name, told
from bayhelper.terms.subjects import job as say

DAY_S = 86_400.0
"""Seconds of a day."""
FINAL = "It cannot be taken back."
"""Why closing asks."""


def _stage_finished(saying: say.StageFinishedReply, names: Names) -> str:
    following = f"next is {stage_name(saying.following)}" if saying.following else ""
    return told(f"{stage_name(saying.stage)} finished", following)


def _stage_not_now(saying: say.StageNotNowRefusal, names: Names) -> str:
    refused = f"no {stage_name(saying.stage)} after {stage_name(saying.now)}"
    return told(refused, "ask what is next")


def _stage_not_running(saying: say.StageNotRunningRefusal, names: Names) -> str:
    return sentence(f"{stage_name(saying.now)} is running, not {stage_name(saying.stage)}")


def _pause_open(saying: say.PauseOpenQuestion, names: Names) -> str:
    still = sentence(f"{parts_listed(names, saying.parts)} still open")
    return f"{still} Pause all the same?"


def _close_open(saying: say.CloseOpenQuestion, names: Names) -> str:
    bare, unwiped = len(saying.bare), len(saying.unwiped)
    seams = counted_bare(bare) if bare else counted_bare(unwiped, "unwiped")
    parts = parts_listed(names, saying.parts)
    left = told(f"{parts} still open" if parts else seams)
    return f"{left} Close the job all the same?"


def _keep(saying: say.KeepReply, names: Names) -> str:
    days = saying.for_s > 2 * DAY_S
    long = counted(round(saying.for_s / DAY_S), "day") if days else duration_words(saying.for_s)
    return sentence(f"{saying.rule.lower()} for {long}")


SENTENCES = (
    says(say.NoJobRefusal, "No job is open. Say open a new job."),
    says(say.NoSuchSheetRefusal, "No such plan or body. Look at the board."),
    says(say.PlanImpossibleRefusal, "The plan's stages do not follow. Correct the plan."),
    says(say.OpenedReply, lambda saying, _: sentence(f"{saying.plan}, {stage_name(saying.stage)}")),
    says(say.CautionReply, lambda saying, _: saying.text),
    says(
        say.StageAlreadyReply, lambda saying, _: sentence(f"{stage_name(saying.stage)} is running")
    ),
    says(say.StageNotNowRefusal, _stage_not_now),
    says(say.StageStartedReply, lambda saying, _: sentence(f"{stage_name(saying.stage)} started")),
    says(say.StageNotRunningRefusal, _stage_not_running),
    says(say.StageFinishedReply, _stage_finished),
    says(say.PauseOpenQuestion, _pause_open, why="A panel's clock never stops."),
    says(
        say.PausedReply,
        lambda saying, _: "Paused. Panel clocks run on." if saying.parts else "Paused.",
    ),
    says(say.ResumedReply, lambda saying, _: sentence(f"back to {stage_name(saying.stage)}")),
    says(say.CloseOpenQuestion, _close_open, why=FINAL),
    says(say.CloseSureQuestion, "Close the job? Say yes please.", why=FINAL),
    says(say.ClosedReply, "Job closed."),
    says(say.KeepReply, _keep),
)
"""What is said about the job."""
