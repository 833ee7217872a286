"""The paper of a job that was typed: nothing is missing, and its zone is stated."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bayhelper.decide.replay import fold
from bayhelper.remember.history import History
from bayhelper.run.cli import main
from bayhelper.run.resources import grammar_texts
from bayhelper.sheets.bodies import load_body
from bayhelper.show.cautions import DEFER
from bayhelper.show.record import record
from bayhelper.show.summary import summary
from bayhelper.show.times import Times
from bayhelper.terms.scope import Scope
from bayhelper.understand.offer import Library
from bayhelper.understand.sample import canonical

INDIA = timezone(timedelta(hours=5, minutes=30))
TYPED = """open a new job
air temperature 22 degrees
humidity 55 percent
roof film 112 microns
roof film 118 microns
left front wing film 3.1 mils
flag the left front wing thin paint
start inspection
start correction
section done on the bonnet
polish on the pad
do it anyway
section done
section done
take a note about the bonnet
a deep scratch stays as it is
end of note
bonnet prepped
robin bonnet left half is on all round
wait 2 minutes
bonnet left half trial wipe still wet
wait 1 minute
bonnet left half trial wipe came clean
bonnet left half levelled all round
bonnet left half buffed
left sill prepped
undo that
roof is on
do it anyway
roof levelled
high spot on the roof rear edge
fixed the high spot on the roof
found a run on the bonnet by the handle
roof buffed
do it anyway
looked over the roof
"""
HEADINGS = (
    "Stages",
    "Panels",
    "Pads",
    "Seams",
    "High spots, runs and water",
    "Done although the helper warned",
    "Notes",
    "Photographs",
    "Until it has cured",
    "Cautions",
)


def closing() -> str:
    """How closing a job is said."""
    scope = Scope(load_body("saloon"), "", frozenset({"close_job"}))
    return next(iter(canonical(Library(grammar_texts()).offer(scope))))[1]


@pytest.fixture(scope="module")
def typed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("typed")
    (folder / "settings.toml").write_text('technicians = ["Robin"]\ncar = "grey saloon (invented)"')
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stdin", io.StringIO(f"{TYPED}{closing()}\nyes please\n"))
        assert main(["work", "--typed", "--fast", "--data", str(folder)]) == 0
    with History.open(folder) as history:
        (name,) = history.jobs()
        return folder, fold(history.decisions(name))


@pytest.fixture(scope="module")
def events(typed):
    """Everything as `export` gives it: type, fields, and the instant as it was recorded."""
    folder, job = typed
    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stdout", out)
        assert main(["export", job.id, "--data", str(folder)]) == 0
    rows = [json.loads(line) for line in out.getvalue().splitlines()]
    undone = {e["decision"] for row in rows for e in row["events"] if e["type"] == "Undone"}
    return [e for row in rows if row["number"] not in undone for e in row["events"]]


@pytest.fixture(scope="module")
def paper(typed):
    return record(typed[1], INDIA)


def section(paper: str, title: str) -> list[str]:
    after = paper.split(f"\n{title}\n{'-' * 72}\n")[1]
    return after.split("\n\n")[0].splitlines()


def block(paper: str, panel: str) -> list[str]:
    lines = section(paper, "Panels")
    start = next(n for n, line in enumerate(lines) if line.split("  [")[0] == panel)
    rest = lines[start + 1 :]
    end = next((n for n, line in enumerate(rest) if not line.startswith(" ")), len(rest))
    return [line.strip() for line in rest[:end]]


def local(event, opened_utc: datetime) -> str:
    """The instant of an exported event in India, five and a half hours ahead of UTC."""
    at = datetime.fromisoformat(event["at_utc"]).astimezone(UTC) + timedelta(hours=5, minutes=30)
    day = (opened_utc + timedelta(hours=5, minutes=30)).date()
    return at.strftime("%H:%M:%S" if at.date() == day else "%Y-%m-%d %H:%M:%S")


def test_every_heading_is_there_once_and_in_order(paper):
    lines = paper.splitlines()
    found = [line for line, rule in pairwise(lines) if rule == "-" * 72]
    assert found[1:] == list(HEADINGS)
    assert found[0].startswith("Record of job ")


def test_the_head_tells_car_service_people_air_and_products(paper):
    head = paper.split("\n\n")[0]
    for text in (
        "Car        grey saloon (invented) (four-door saloon)",
        "Service    one-step polish and coat, 1 layer(s)",
        "By         Robin",
        "Air        22 °C, 55 %",
        "coating: Harbour Gloss Nine",
    ):
        assert text in head


def test_the_zone_is_stated_and_holds_for_every_time(typed, paper, events):
    _, job = typed
    assert "Times      UTC+05:30" in paper
    opened = next(e for e in events if e["type"] == "JobOpened")
    stamp = datetime.fromisoformat(opened["at_utc"]).astimezone(INDIA)
    assert f"Opened     {stamp:%Y-%m-%d %H:%M:%S}" in paper
    assert f"Closed     {job.closed_at_utc.astimezone(INDIA):%Y-%m-%d %H:%M:%S}" in paper
    assert "Times      UTC+00:00" in record(job, UTC)
    here = f"{job.opened_at_utc.astimezone():%z}"
    assert f"Times      UTC{here[:3]}:{here[3:5]}" in record(job)


SHOWN = {
    "PanelStarted": "machining begun",
    "PanelFinished": "machining finished",
    "PanelPrepped": "panel wipe",
    "LayDownStarted": "layer 1 started",
    "Covered": "layer 1 covered",
    "TrialMade": "trial wipe",
    "Levelled": "levelled",
    "Buffed": "buffed",
    "Checked": "looked over",
}


def test_every_panel_has_each_of_its_acts_with_its_time(typed, paper, events):
    _, job = typed
    acts = [e for e in events if e["type"] in SHOWN]
    assert {e["type"] for e in acts} == set(SHOWN)
    assert {e["panel"] for e in acts} == {"bonnet", "roof"}
    for event in acts:
        time, words = local(event, job.opened_at_utc), SHOWN[event["type"]]
        lines = block(paper, event["panel"])
        assert any(line.startswith(f"{time}  {words}") for line in lines), (event, lines)
    assert "left sill" not in paper  # its panel wipe was taken back


def test_halves_people_assumptions_and_trials_are_told(paper):
    bonnet = "\n".join(block(paper, "bonnet"))
    assert "layer 1 started, left half, Robin (assumed)" in bonnet
    assert "layer 1 covered, left half, Robin" in bonnet
    assert "levelled 18" in bonnet and "s after covered (best predicted" in bonnet
    assert bonnet.count("in the window") == 1
    assert "sheet figure, air 22 degrees 55 percent, panel temperature not known" in bonnet
    assert ": wet, left half" in bonnet and ": clean, left half" in bonnet
    assert "sections machined: 3" in bonnet
    assert "stands: buffed (left half)" in bonnet
    assert "(all the same)" in "\n".join(block(paper, "roof"))


def test_film_readings_are_told_in_micrometres_with_mean_and_least(paper):
    """3.1 mils are 78.74 micrometres: the inch is 25.4 mm exactly (ISO 80000-3)."""
    assert "film 112, 118 µm (mean 115.0, least 112)" in block(paper, "roof")
    (reading,) = [line for line in block(paper, "left front wing") if line.startswith("film")]
    assert float(reading.split()[1]) == pytest.approx(3.1 * 25.4, abs=0.1)
    assert "left front wing  [thin]" in section(paper, "Panels")


def test_pads_are_counted(paper):
    (pads,) = section(paper, "Pads")
    assert pads == "pads on the machine: 1; cleanings: 1 (1 by habit, not said)"


def test_seams_that_nobody_lapped_are_named(paper, events):
    """Only 'all round' was said of the bonnet; the roof's own seams were never mentioned."""
    (closed,) = [e for e in events if e["type"] == "JobClosed"]
    named = [seam.replace("_", " ").replace("+", " to ") for seam in closed["bare"]]
    assert named and all("roof" in seam for seam in named)
    assert section(paper, "Seams") == [f"{seam}: not reported as lapped" for seam in named]
    (told,) = section(paper, "Done although the helper warned")[-1:]
    assert all(f"{seam} bare" in told for seam in named)


def test_high_spots_and_runs_with_place_and_what_became_of_them(paper):
    high, run = section(paper, "High spots, runs and water")
    assert "high spot, roof, rear edge: levelled " in high
    assert run.endswith("run, bonnet, handle: not levelled yet")


def test_what_was_insisted_on_is_told(typed, paper, events):
    _, job = typed
    lines = section(paper, "Done although the helper warned")
    agreed = [e for e in events if e["type"] == "QuestionSettled"]
    times = [local(event, job.opened_at_utc) for event in agreed]
    assert [line.split("  ")[0] for line in lines] == times
    told = [line.split("  ", 1)[1] for line in lines]
    assert told[:3] == [
        "fresh polish on a dirty pad",
        "roof, coated without a panel wipe",
        "roof, left with bare seams",
    ]
    assert told[3].startswith("closed with something open, ") and len(told) == 4


def test_notes_and_cure(paper):
    (note,) = section(paper, "Notes")
    assert note.endswith("n1: a deep scratch stays as it is [typed]")
    told = section(paper, "Until it has cured")
    assert any("sap" in line for line in told)


def test_programs_are_told_the_same(typed, events):
    job: dict[str, Any] = summary(typed[1])
    last = max(event["at_utc"] for event in events if event["type"] == "Buffed")
    dry, wash = job["keep"]
    after = datetime.fromisoformat(dry["until_utc"]) - datetime.fromisoformat(last)
    assert (dry["rule"], after) == ("Keep dry and free of dust", timedelta(hours=24))
    assert wash["rule"] == "No washing"
    assert job["photos"] == [] and set(job["bare"]).isdisjoint(job["unwiped"])


def test_what_the_car_must_be_kept_from_has_its_dates(paper, events):
    """Typical 24 hours dry and 7 days before a wash: common practice, from memory."""
    last = max(event["at_utc"] for event in events if event["type"] == "Buffed")
    buffed = datetime.fromisoformat(last).astimezone(INDIA)
    told = section(paper, "Until it has cured")
    for rule, after in (
        ("Keep dry and free of dust", timedelta(hours=24)),
        ("No washing", timedelta(days=7)),
    ):
        assert f"{rule} until {buffed + after:%Y-%m-%d %H:%M:%S}" in told


def test_cautions_are_shown_and_defer(paper):
    told = " ".join(section(paper, "Cautions"))
    for text in (
        *("data sheet, local codes and licensed practice", "gloves", "eye protection"),
        *("ventilate", "respirator", "no flame", "closed metal container", "rotating pad"),
        *("residual-current", "slips", "hearing protection", "alone", "Harbour Prep: Flammable"),
    ):
        assert text in told
    assert section(paper, "Cautions")[: len(DEFER)] == list(DEFER)
    assert paper.endswith("has the last word on times and handling.")


def test_a_job_over_two_days_has_dates_and_a_zone_that_changes_says_so():
    spring = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
    times = Times(ZoneInfo("Europe/London"), spring)
    # British summer time began on 29 March 2026 at 01:00 UTC (last Sunday of March).
    morning = datetime(2026, 3, 29, 8, 0, tzinfo=UTC)
    assert times.clock(spring) == "20:00:00"
    assert times.clock(morning) == "2026-03-29 09:00:00"
    assert times.offsets(spring) == "UTC+00:00"
    assert times.offsets(morning) == "UTC+00:00 at the beginning, UTC+01:00 at the end"
    assert times.stamp(None) == "-"
