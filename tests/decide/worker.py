"""Somebody at work on a car: commands go in as typed, refusals fail the story."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from bayhelper.decide.acts.catalogue import ACTS, allowed, allowed_panels
from bayhelper.decide.decide import decide
from bayhelper.decide.due.alerts import tick
from bayhelper.decide.job.stages import may_start
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.decide.replay import apply
from bayhelper.sheets.bodies import load_body
from bayhelper.sheets.plans import load_plan
from bayhelper.sheets.products import load_products
from bayhelper.terms.body import Body, Panel, Seam
from bayhelper.terms.command import Command, SlotValue
from bayhelper.terms.events import Decision
from bayhelper.terms.saying import Saying

START_UTC = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TINY = Body(
    id="tiny",
    name="tiny car",
    panels=(
        Panel("roof", "panel", "middle", "roof", 1.6, "steel", "upper", ("left", "right"), 6),
        Panel("bonnet", "panel", "middle", "bonnet", 1.5, "steel", "upper", (), 6),
    ),
    seams=(Seam("bonnet+roof", "bonnet", "roof"),),
)
DESK = Desk(
    next_job="j1",
    plans={name: load_plan(name) for name in ("coat_only", "one_step", "correction_coat")},
    bodies={"tiny": TINY, "saloon": load_body("saloon"), "hatchback": load_body("hatchback")},
    products=load_products(),
    technicians=("Ada", "Ben"),
)


def command_of(line: str) -> Command:
    """A command from a line such as 'covered panel=roof all_round=true'."""
    name, *pairs = line.split()
    slots: dict[str, SlotValue] = {}
    for pair in pairs:
        key, _, value = pair.partition("=")
        if value in ("true", "false"):
            slots[key] = value == "true"
        elif key == "layer":
            slots[key] = int(value)
        elif value.replace(".", "", 1).isdigit():
            slots[key] = float(value)
        else:
            slots[key] = value
    return Command(name, slots, said=line)


class Worker:
    """One job, one command after the other."""

    def __init__(self, plan: str = "coat_only", body: str = "tiny") -> None:
        self.now_utc = START_UTC
        self.job: Job | None = None
        self.do(f"open_job plan={plan} body={body}")

    @property
    def it(self) -> Job:
        assert self.job is not None
        return self.job

    def wait(self, seconds: float) -> None:
        """Let time pass, and what falls due be recorded."""
        self.now_utc += timedelta(seconds=seconds)
        outcome = tick(self.it, self.now_utc)
        if outcome.events:
            self.job = apply(self.it, self._decision(outcome, "deadline", Command("")))

    def say(self, line: str) -> Outcome:
        """Give a command, whatever comes of it."""
        command = command_of(line)
        outcome = decide(self.job, command, self.now_utc, DESK)
        done = outcome.command or command
        self.job = apply(self.job, self._decision(outcome, "command", done))
        return outcome

    def do(self, *lines: str) -> Outcome:
        """Give commands that must all be carried out; gives what came of the last one.

        'wait 60' lets a minute pass; 'asks close_job' is a command that must ask first.
        """
        outcome = Outcome()
        for line in lines:
            if line.startswith("wait "):
                self.wait(float(line.removeprefix("wait ")))
                continue
            if line.startswith("asks "):
                outcome = self.say(line.removeprefix("asks "))
                assert [s.manner for s in says(outcome)] == ["question"], line
                continue
            outcome = self.say(line)
            said = says(outcome)
            assert not any(s.manner in ("refusal", "question") for s in said), f"{line}: {said}"
        return outcome

    def topic(self, line: str) -> str:
        """Give a command that is answered with one sentence; its topic."""
        (said,) = says(self.say(line))
        return said.topic

    def states(self) -> dict[str, str]:
        """State of every part that has one."""
        return {key: part.state for key, part in self.it.parts.items()}

    def _decision(self, outcome: Outcome, cause: str, command: Command) -> Decision:
        return Decision(
            job="j1",
            number=self.job.number + 1 if self.job else 1,
            at_utc=self.now_utc,
            cause="deadline" if cause == "deadline" else "command",
            command=command.name,
            slots=command.slots,
            events=outcome.events,
        )


def says(outcome: Outcome) -> list[Saying]:
    """The sentences of an outcome, but for cautions."""
    return [e for e in outcome.effects if isinstance(e, Saying) and e.topic != "caution"]


def fields_of(saying: Saying) -> dict[str, Any]:
    """What a sentence tells, by the names of its fields."""
    return {field.name: getattr(saying, field.name) for field in fields(saying)}


VALUES: dict[str, tuple[SlotValue, ...]] = {
    "temp_c": (21.0,),
    "humidity_percent": (50.0,),
    "film_um": (110.0,),
    "flag": ("matte", "normal"),
    "agent": ("iron_remover",),
    "result": ("wet", "clean", "grabbing"),
    "kind": ("high_spot", "run"),
}


STATES_FOR = {
    "laying": ("prepped",),
    "covered": ("prepped", "laying"),
    "levelled": ("laying", "covered"),
    "buffed": ("covered", "levelled"),
}
"""States of a half of the roof in which it can be named in a command."""


def _half_state(job: Job, half: str) -> str:
    part = job.parts.get(f"roof/{half}") or job.part("roof")
    laid_whole = not part.half and part.state in ("laying", "covered", "levelled")
    return "" if laid_whole else part.state


def instances(job: Job, panels: tuple[str, ...], halves: bool = False) -> Iterator[Command]:
    """Every command that is allowed now, with every panel that is (of those given).

    With halves, also the halves of it that stand as the command needs.
    """
    by_name = allowed_panels(job)
    for name in sorted(allowed(job)):
        needs = [slot.name for slot in ACTS[name].needs]
        options: list[dict[str, SlotValue]] = [{}]
        for slot in needs:
            values: tuple[SlotValue, ...] = VALUES.get(slot, ())
            if slot == "panel":
                values = tuple(p for p in panels if p in by_name.get(name, panels))
            elif slot == "stage":
                values = tuple(sorted(may_start(job)))
            elif slot == "neighbour":
                values = ("bonnet",)
            options = [old | {slot: value} for old in options for value in values]
        if halves and name in STATES_FOR:
            options += [
                old | {"half": half}
                for old in options
                for half in ("left", "right")
                if _half_state(job, half) in STATES_FOR[name]
            ]
        if name == "covered":
            options += [old | {"all_round": True} for old in options]
        yield from (Command(name, slots) for slots in options)


def bare_of_talk(job: Job) -> Job:
    """The job without what was said about it and how it came about."""
    return replace(
        job,
        decisions=(),
        undone=frozenset(),
        question=None,
        alerts={},
        misses=0,
        last_spoken="",
        notes=(),
        dictating=False,
        asleep=False,
    )
