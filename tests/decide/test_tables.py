from __future__ import annotations

from collections import deque

import pytest

from bayhelper.decide.decide import decide
from bayhelper.decide.job import fold, tables
from bayhelper.decide.job.machine import fire_job, fire_panel, job_triggers, panel_triggers
from bayhelper.decide.job.pads import dirty
from bayhelper.decide.job.stages import may_start
from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import apply
from bayhelper.terms.choices import STAGES
from bayhelper.terms.command import Command
from bayhelper.terms.errors import DecisionError
from bayhelper.terms.events import Decision
from tests.decide.stories import INSISTED, STORIES, TO_COATING, Story
from tests.decide.worker import DESK, START_UTC, Worker, instances, says

ROWS = [("JOB_ROWS", row) for row in tables.JOB_ROWS]
ROWS += [("PANEL_ROWS", row) for row in tables.PANEL_ROWS]


def tell(story: Story) -> None:
    worker = Worker(story.plan)
    worker.do(*story.lines)
    assert worker.it.stage == story.stage
    assert worker.states() == story.states


def insist_from(state: str, lines: tuple[str, ...], plan: str) -> None:
    worker = Worker(plan)
    worker.do(*lines)
    assert worker.it.part("roof").state == state
    assert worker.topic("laying panel=roof") in ("not_prepped", "prep_stale_guard")
    worker.do("insist")
    assert worker.it.part("roof").state == "laying"


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name)
def test_the_story_runs_through(story):
    tell(story)


@pytest.mark.parametrize(("state", "lines", "plan"), INSISTED)
def test_product_goes_on_without_a_fresh_panel_wipe_only_on_insistence(state, lines, plan):
    insist_from(state, lines, plan)


def tellings():
    for story in STORIES:
        yield lambda story=story: tell(story)
    for state, lines, plan in INSISTED:
        yield lambda state=state, lines=lines, plan=plan: insist_from(state, lines, plan)


@pytest.fixture(scope="module")
def used() -> dict[tuple[str, str, str], int]:
    """Which story fires each row first."""
    rows: dict[tuple[str, str, str], int] = {}
    with pytest.MonkeyPatch.context() as patch:
        for number, telling in enumerate(tellings()):

            def note(fire, state, trigger, number=number):
                after = fire(state, trigger)
                rows.setdefault((trigger, state, after), number)
                return after

            patch.setattr(fold, "fire_job", lambda s, t, note=note: note(fire_job, s, t))
            patch.setattr(fold, "fire_panel", lambda s, t, note=note: note(fire_panel, s, t))
            telling()
    return rows


@pytest.mark.parametrize(
    ("table", "row"), ROWS, ids=lambda value: value if isinstance(value, str) else "-".join(value)
)
def test_without_this_row_a_story_fails(table, row, used, monkeypatch):
    assert row in used, "no story fires it"
    telling = list(tellings())[used[row]]
    rest = tuple(other for other in getattr(tables, table) if other != row)
    monkeypatch.setattr(tables, table, rest)
    with pytest.raises((AssertionError, DecisionError)):
        telling()


def core(job: Job) -> tuple[str, tuple[tuple[str, str, int], ...], int, bool, str, bool]:
    parts = tuple(sorted((p.key, p.state, p.layer) for p in job.parts.values()))
    return job.stage, parts, job.layer, dirty(job), job.machining, bool(job.laps)


CORE = frozenset(
    "start_stage start_panel finish_panel section_done pad_cleaned prepped touched laying covered "
    "levelled buffed checked back_to_correction start_layer insist".split()
)
FOLLOW = ("insist", "yes", "no", "wake", "resume_job", "end_note", "end_dwell", "residue_wiped")


NOT_IN_COAT_ONLY = {
    ("lay", "buffed"),
    ("lay", "done"),
    ("machine", "waiting"),
    ("machine", "prepped"),
    ("machine", "stale"),
}
"""One layer only, and nothing goes under the machine but what comes back for correction."""


def step(job: Job, command: Command) -> Job:
    outcome = decide(job, command, START_UTC, DESK)
    refused = [s for s in says(outcome) if s.manner == "refusal"]
    asked = any(type(e).__name__ == "QuestionAsked" for e in outcome.events)
    assert asked or not refused, f"{core(job)}: {command.name} {command.slots}: {refused}"
    done = outcome.command or command
    return apply(
        job,
        Decision(
            job=job.id,
            number=job.number + 1,
            at_utc=START_UTC,
            cause="command",
            command=done.name,
            slots=done.slots,
            events=outcome.events,
        ),
    )


@pytest.mark.parametrize("plan", ["coat_only", "correction_coat"])
def test_whatever_is_allowed_is_accepted_and_every_trigger_has_a_command(plan):
    """Walks every state that one panel of a car can be in, whole, at every stage."""
    start = Worker(plan).it
    seen = {core(start)}
    fired: set[tuple[str, str]] = set()
    ahead = deque([start])
    while ahead:
        job = ahead.popleft()
        stages = {f"start_{stage}" for stage in STAGES} & job_triggers(job.stage)
        assert {f"start_{stage}" for stage in may_start(job)} <= stages
        assert not job_triggers(job.stage) or "close" in job_triggers(job.stage)
        for command in instances(job, ("roof",)):
            after = step(job, command)
            for follow in instances(after, ("roof",)):
                if follow.name in FOLLOW:
                    answered = step(after, follow)
                    if follow.name == "insist":
                        note(fired, after, answered)
            note(fired, job, after)
            following = [after]
            if after.question is not None and after.question.answer == "insist":
                following.append(step(after, Command("insist")))
            for new in following:
                if command.name in CORE and core(new) not in seen and new.question is None:
                    seen.add(core(new))
                    ahead.append(new)
    rows = {row for row in tables.JOB_ROWS if reachable(row, plan)}
    expected = {(t, s) for t, s, _ in rows}
    if plan == "coat_only":
        expected.remove(("start_correction", "inspection"))
    assert expected <= fired
    untold = {(t, s) for t, s, _ in tables.PANEL_ROWS} - fired - {("go_stale", "prepped")}
    assert untold == (NOT_IN_COAT_ONLY if plan == "coat_only" else set())
    assert len(seen) > 40


def test_whatever_is_allowed_is_accepted_when_the_panel_is_laid_in_halves():
    start = Worker("coat_only")
    start.do(*TO_COATING, "prepped panel=roof")
    seen = {core(start.it)}
    ahead = deque([start.it])
    while ahead:
        job = ahead.popleft()
        for command in instances(job, ("roof",), halves=True):
            new = step(job, command)
            if new.question is not None and new.question.answer == "insist":
                new = step(new, Command("insist"))
            acts = command.name in CORE - {"start_stage", "section_done"}
            if acts and core(new) not in seen and new.question is None:
                seen.add(core(new))
                ahead.append(new)
    halves = {parts for _, parts, *_ in seen if len(parts) == 2}
    assert {tuple(state for _, state, _ in parts) for parts in halves} >= {
        ("laying", "prepped"),
        ("covered", "laying"),
        ("buffed", "covered"),
        ("levelled", "buffed"),
        ("done", "done"),
    }


def note(fired: set[tuple[str, str]], before: Job, after: Job) -> None:
    """Keep which triggers took the job and the roof from one state to the next."""
    for trigger in job_triggers(before.stage):
        if fire_job(before.stage, trigger) == after.stage != before.stage:
            fired.add((trigger, before.stage))
    if after.undone != before.undone:
        return
    old, new = before.part("roof").state, after.part("roof").state
    for event in after.decisions[-1].events:
        trigger = TRIGGER.get(type(event).__name__, "")
        if trigger in panel_triggers(old):
            fired.add((trigger, old))
            old = fire_panel(old, trigger)
    assert old == new


TRIGGER = {
    "PanelStarted": "machine",
    "PanelFinished": "machine_done",
    "PanelPrepped": "prep",
    "PanelTouched": "touch",
    "LayDownStarted": "lay",
    "Covered": "cover",
    "Levelled": "level",
    "Buffed": "buff",
    "Checked": "check",
    "SentBack": "send_back",
}


def reachable(row: tuple[str, str, str], plan: str) -> bool:
    trigger, source, _ = row
    stages = {*DESK.plans[plan].stages, "correction"}
    return source != "opened" and {source, trigger.removeprefix("start_")} <= {*stages, "close"}


def test_tables_name_only_stages_of_the_catalogue():
    assert set(tables.states(tables.JOB_ROWS, tables.JOB_START)) == {"opened", *STAGES, "closed"}


def test_a_wrong_trigger_says_what_cannot_follow_what():
    with pytest.raises(DecisionError, match="'cover' cannot follow 'buffed'"):
        fire_panel("buffed", "cover")


def test_the_diagram_has_an_arrow_for_each_row():
    lines = tables.diagram(tables.PANEL_ROWS, tables.PANEL_START).splitlines()
    assert lines[:2] == ["stateDiagram-v2", "    [*] --> waiting"]
    assert "    prepped --> stale: touch" in lines
    assert len(lines) == 2 + len(tables.PANEL_ROWS)
