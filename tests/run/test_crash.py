"""A process is killed at instants that nobody chose, again and again, and the job taken up."""

import random
import re
import shutil
import signal
import subprocess
import sys
import time
from datetime import timedelta

import pytest

from bayhelper.decide.decide import decide
from bayhelper.decide.due.alerts import take_up, tick
from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import apply
from bayhelper.remember.codec import encode_event
from bayhelper.remember.history import History
from bayhelper.run.bay.session import open_session
from bayhelper.run.clock import ManualClock
from bayhelper.run.parts import TypedEar, build_desk
from bayhelper.run.settings import Settings
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.command import Command
from bayhelper.terms.events import (
    Covered,
    Decision,
    LayDownStarted,
    SpeechHeard,
    Spoken,
    WindowRetimed,
)

SETTINGS = Settings(plan="coat_only")
OPENING = (
    "open a new job",
    "start the wash",
    "start inspection",
    "start the panel wipe",
    "roof prepped",
    "start coating",
    "roof is on all round",
)
ACKNOWLEDGED = re.compile(r"\d+:\d\d:\d\d   (\w+)")
"""A line of the terminal about an event; those begin with two spaces after the time."""


def readings(seed):
    """Lines without end to the purpose of the job: values that tell each from the one before."""
    draw = random.Random(seed)
    for _ in range(400):
        yield f"air temperature {draw.randint(15, 28)} degrees"
        yield f"humidity {draw.randint(30, 70)} percent"
        yield f"bonnet film {draw.randint(90, 140)} microns"


def type_and_kill(folder, lines, shown, delay_s):
    """Names of the events that were acknowledged before the kill, in order.

    It comes so many seconds after so many lines, for a busy machine to get as far as a quick one.
    """
    work = ("work", "--typed", "--plan", "coat_only", "--data", str(folder))
    with subprocess.Popen(
        [sys.executable, "-m", "bayhelper", *work],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as child:
        assert child.stdin is not None and child.stdout is not None
        child.stdin.write("\n".join(lines) + "\n")
        child.stdin.flush()
        told = [child.stdout.readline() for _ in range(shown)]
        time.sleep(delay_s)
        child.send_signal(signal.SIGKILL)
        told += child.stdout.readlines()
        child.wait()
        assert child.returncode == -signal.SIGKILL
    found = (ACKNOWLEDGED.match(line) for line in told)
    return [match[1] for match in found if match]


def facts(decisions):
    """The events that the terminal shows, in order."""
    return [
        type(event).__name__
        for decision in decisions
        for event in decision.events
        if not isinstance(event, Spoken | SpeechHeard)
    ]


def recorded(folder):
    """What is on disk; that the numbers have no gap is part of reading it."""
    with History.open(folder) as history:
        (job,) = history.jobs() or ("",)
        return history.decisions(job) if job else ()


def refuse_halves(decisions, desk):
    """Decide all of it once more: each decision holds all of its events, and no other."""
    job: Job | None = None
    for decision in decisions:
        kept = [e for e in decision.events if not isinstance(e, Spoken | SpeechHeard)]
        if decision.cause == "command":
            command = Command(decision.command, decision.slots)
            outcome = decide(job, command, decision.at_utc, desk)
            assert sum(isinstance(e, SpeechHeard) for e in decision.events) == 1
        else:
            assert job is not None
            known = [encode_event(e) for e in tick(job, decision.at_utc).events]
            outcome = tick(job, decision.at_utc)
            if known != [encode_event(e) for e in kept]:
                outcome = take_up(job, decision.at_utc)
        assert [encode_event(e) for e in outcome.events] == [encode_event(e) for e in kept]
        job = apply(job, decision)


def speaks_of_the_overdue_roof(folder, copy, decisions):
    """Taken up a good while later, a copy says at once how long the roof is overdue.

    The readings that are typed set its clock anew.
    """
    events = [event for decision in decisions for event in decision.events]
    laid = next((e for e in events if isinstance(e, LayDownStarted)), None)
    if laid is None or not any(isinstance(e, Covered) for e in events):
        return False
    shutil.copytree(folder, copy)
    windows = [e.window for e in events if isinstance(e, LayDownStarted | WindowRetimed)]
    latest_utc = laid.at_utc + timedelta(seconds=windows[-1].latest_s)
    now_utc = latest_utc + timedelta(minutes=17)
    clock = ManualClock(now_utc)
    with open_session(
        copy, SETTINGS, ear=TypedEar(), player=FolderPlayer(copy / "prompts"), clock=clock
    ) as session:
        job = session.bay.job
        assert job is not None
        said = [e.text for e in job.decisions[-1].events if isinstance(e, Spoken)]
        assert job.number == len(decisions) + 1
    assert len(said) == 1 and "overdue" in said[0] and "Roof" in said[0]
    assert "by seventeen minutes" in said[0]
    return True


def crash(tmp_path, kills, seed):
    folder, draw = tmp_path / "bay", random.Random(seed)
    decisions: tuple[Decision, ...] = ()
    overdue = 0
    for kill in range(kills):
        heard = sum(isinstance(e, SpeechHeard) for d in decisions for e in d.events)
        lines = [*OPENING[heard:], *readings(seed + kill)]
        shown = draw.randint(5, 40)
        delay_s = draw.uniform(0, 0.03)
        if kill % 5 == 3:  # while it is still starting
            shown, delay_s = 0, draw.uniform(0, 1)
        told = type_and_kill(folder, lines, shown, delay_s)
        before, decisions = decisions, recorded(folder)
        assert decisions[: len(before)] == before
        fresh = decisions[len(before) :]
        assert facts(fresh)[: len(told)] == told, "what was acknowledged is on disk"
        assert len(facts(fresh[:-1])) <= len(told), "at most one decision was not shown yet"
        overdue += speaks_of_the_overdue_roof(folder, tmp_path / f"copy-{kill}", decisions)
    refuse_halves(decisions, build_desk(SETTINGS, decisions[0].job))
    return len(decisions), overdue


def test_a_job_survives_kills_at_random_instants(tmp_path):
    count, overdue = crash(tmp_path, kills=5, seed=20)
    assert count > 10 and overdue >= 3


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
def test_a_job_survives_a_hundred_and_sixty_kills(tmp_path, seed):
    count, overdue = crash(tmp_path, kills=20, seed=1000 * seed)
    assert count > 40 and overdue >= 15
