"""A whole coat from real audio: two people on a coupé, each on his side of the car."""

import tomllib
from collections import Counter

import pytest

from bayhelper.decide.job.seams import bare_seams, own_panels, unwiped_seams
from bayhelper.run.bay.playback import Take, play
from bayhelper.run.parts import open_ear
from bayhelper.run.settings import Settings
from tests.run.spoken_story import COMMANDS, begun

DEMO = COMMANDS.parent / "demo"
SETTINGS = Settings(plan="coat_only", body="coupe", technicians=("Robin", "Maya"))
TO_COATING = (
    "open a new job", "start the wash", "start inspection", "start the panel wipe",
    "air temperature twenty one degrees", "humidity fifty percent",
)  # fmt: skip
PEOPLE = ("robin", "maya")
PAIRS = (
    ("bonnet", "roof"),
    ("left front wing", "right front wing"),
    ("left front door", "right front door"),
    ("left quarter panel", "right quarter panel"),
    ("boot lid", "front bumper"),
    ("left sill", "right sill"),
    ("", "rear bumper"),
)
"""What Robin and Maya coat at the same time."""


@pytest.fixture(scope="module")
def recordings():
    rows = tomllib.loads((DEMO / "story.toml").read_text(encoding="utf-8"))["line"]
    return {row["say"].replace("{address} ", ""): DEMO / row["file"] for row in rows}


@pytest.fixture(scope="module")
def story(tmp_path_factory, recordings):
    with open_ear(SETTINGS) as ear, begun(ear, tmp_path_factory.mktemp("car"), SETTINGS) as story:
        story.typed(*TO_COATING)

        def spoken(words):
            before = len(story.rows())
            play([Take(recordings[words], 0.0)], story.session, story.clock,
                 fast=True, patience_s=0.8)  # fmt: skip
            heard = [row for row in story.rows()[before:] if row["kind"] == "heard"]
            assert [row["accepted"] for row in heard] == [True], (words, heard)

        for pair in PAIRS:
            both = [(who, panel) for who, panel in zip(PEOPLE, pair, strict=True) if panel]
            story.typed(*(f"{panel} prepped" for _, panel in both))
            for who, panel in both:
                spoken(f"{who} {panel} is on all round")
            story.wait(250)
            for who, panel in both:
                spoken(f"{who} {panel} levelled all round")
                spoken(f"{panel} buffed")
        yield story


def test_every_panel_is_buffed_and_its_small_parts_with_it(story):
    job = story.bay.job
    states = {part.key: part.state for part in job.parts.values()}
    assert set(states.values()) == {"buffed"}
    assert {panel.id for panel in own_panels(job)} < set(states)
    assert {"left_mirror", "right_mirror"} < set(states)


def test_each_side_has_its_technician(story):
    who = {part.panel: part.coat.by for part in story.bay.job.parts.values()}
    assert {who[p] for p in who if p.startswith("left_")} == {"Robin"}
    assert {who[p] for p in who if p.startswith("right_")} == {"Maya"}


def test_nothing_is_bare_or_unwiped_and_nothing_was_overdue(story):
    assert not bare_seams(story.bay.job) and not unwiped_seams(story.bay.job)
    raised = Counter(row["alert"] for row in story.events("AlertRaised"))
    assert raised["overdue"] == 0 and raised["bare_seams"] == 0


def test_a_smooth_coat_takes_at_most_four_utterances_a_panel(story):
    said = Counter(
        row["slots"]["panel"]
        for row in story.rows()
        if row["kind"] == "heard" and "panel" in row["slots"]
    )
    assert len(said) == 13 and max(said.values()) == 4
