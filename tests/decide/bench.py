"""A bay without ears: commands and time go in, decisions come out and are folded."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from bayhelper.decide.decide import decide
from bayhelper.decide.due.alerts import next_due_utc, tick
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.decide.replay import apply, fold
from bayhelper.sheets.bodies import load_body
from bayhelper.sheets.plans import load_plan
from bayhelper.sheets.products import load_products
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Effect, Tone
from bayhelper.terms.events import AlertRaised, Decision, PrepWentStale
from bayhelper.terms.saying import DueAlert, Saying

START_UTC = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PLANS = {name: load_plan(name) for name in ("coat_only", "one_step", "correction_coat")}
SALOON = load_body("saloon")
PRODUCTS = load_products()
DESK = Desk(
    next_job="j1", plans=PLANS, bodies={"saloon": SALOON}, products=PRODUCTS, plan="coat_only"
)
TO_COATING = ("wash", "decontamination", "inspection", "panel_wipe", "coating")
TO_CORRECTION = ("wash", "decontamination", "inspection", "correction")


def at(seconds: float) -> datetime:
    return START_UTC + timedelta(seconds=seconds)


class Bench:
    """One job; every instant is in seconds after the start."""

    def __init__(self, plan: str = "coat_only", stages: tuple[str, ...] = TO_COATING) -> None:
        self.job: Job | None = None
        self.effects: list[tuple[float, Effect]] = []
        self.say("open_job", 0, plan=plan, body="saloon")
        for stage in stages:
            self.say("start_stage", 0, stage=stage)

    def say(self, name: str, at_s: float, **slots: str | float | bool) -> Outcome:
        """Let time pass up to the command, carry it out, and see what it made due at once."""
        outcome = self.say_and_die(name, at_s, **slots)
        self.tick(at_s)
        return outcome

    def say_and_die(self, name: str, at_s: float, **slots: str | float | bool) -> Outcome:
        """The same, but the process ends before it sees what it made due."""
        if self.job is not None:
            self.tick(at_s)
        command = Command(name, dict(slots))
        outcome = decide(self.job, command, at(at_s), DESK)
        done = outcome.command or command
        self._settle(
            outcome,
            at_s,
            Decision(
                job="j1",
                number=1,
                at_utc=at(at_s),
                cause="command",
                command=done.name,
                slots=done.slots,
                events=outcome.events,
            ),
        )
        return outcome

    def tick(self, at_s: float) -> tuple[Effect, ...]:
        outcome = tick(self.it, at(at_s))
        if outcome.events:
            self._settle(
                outcome,
                at_s,
                Decision(
                    job="j1", number=1, at_utc=at(at_s), cause="deadline", events=outcome.events
                ),
            )
        return outcome.effects

    def restart(self) -> None:
        """Forget everything but the record."""
        self.job = fold(self.it.decisions)

    def repaired(self, at_s: float) -> None:
        """A restart that left a mark in the record."""
        mark = Decision(
            job="j1", number=self.it.number + 1, at_utc=at(at_s), cause="repair", events=()
        )
        self.job = fold((*self.it.decisions, mark))

    def run(self, until_s: float) -> None:
        """Tick at every due instant, as the bay does."""
        while (due_utc := next_due_utc(self.it)) is not None and due_utc <= at(until_s):
            self.tick((due_utc - START_UTC).total_seconds())

    def steps(self, marks: list[float]) -> None:
        for before, after in pairwise(sorted(marks)):
            if after > before:
                self.tick(after)

    def coat(self, panel: str, started_s: float, covered_s: float, **slots: str | bool) -> None:
        """A panel wipe, a lay-down, all seams lapped."""
        self.say("prepped", started_s, panel=panel)
        self.say("laying", started_s, panel=panel, **slots)
        self.say("covered", covered_s, panel=panel, all_round=True, **slots)

    @property
    def it(self) -> Job:
        assert self.job is not None
        return self.job

    def facts(self) -> list[AlertRaised | PrepWentStale]:
        """What time brought, in order."""
        return [
            event
            for decision in self.it.decisions
            for event in decision.events
            if isinstance(event, AlertRaised | PrepWentStale)
        ]

    def raised(self, alert: str = "", subject: str = "") -> list[tuple[str, str, float]]:
        """Kind, subject and instant of every alert raised."""
        return [
            (fact.alert, fact.subject, (fact.at_utc - START_UTC).total_seconds())
            for fact in self.facts()
            if isinstance(fact, AlertRaised)
            and alert in ("", fact.alert)
            and subject in ("", fact.subject)
        ]

    def _settle(self, outcome: Outcome, at_s: float, decision: Decision) -> None:
        number = self.job.number + 1 if self.job else 1
        self.job = apply(self.job, replace(decision, number=number))
        self.effects += [(at_s, e) for e in outcome.effects if isinstance(e, Saying | Tone)]


def alerts_said(effects: tuple[Effect, ...]) -> list[DueAlert]:
    return [e for e in effects if isinstance(e, DueAlert)]
