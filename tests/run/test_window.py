"""`bayhelper window`: figures, cautions, the chart, and what is refused."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import psychrolib
import pytest

from bayhelper.remember.journal import Journal
from bayhelper.run.cli import main
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker


def window(capsys, tmp_path, *arguments, code=0):
    assert main(["window", "--data", str(tmp_path), *arguments]) == code
    return capsys.readouterr()


def fields(capsys, tmp_path, *arguments):
    return json.loads(window(capsys, tmp_path, "--json", *arguments).out)


def test_at_the_reference_air_it_is_the_sheet(capsys, tmp_path):
    found = fields(capsys, tmp_path, "--air-c", "21", "--humidity", "50")
    assert (found["earliest_s"], found["best_s"], found["latest_s"]) == (180, 300, 480)
    assert found["outside"] == []
    assert "air's taken" in found["basis"]


@pytest.mark.parametrize(("air_c", "rh"), [(15, 40), (21, 50), (24, 60), (27, 75), (30, 85)])
def test_dew_point_and_water_are_the_handbooks(capsys, tmp_path, air_c, rh):
    """psychrolib: ASHRAE Handbook, Fundamentals, chapter 1."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    found = fields(capsys, tmp_path, "--air-c", str(air_c), "--humidity", str(rh))
    dew_c = psychrolib.GetTDewPointFromRelHum(air_c, rh / 100)
    ratio = psychrolib.GetHumRatioFromRelHum(air_c, rh / 100, 101_325)
    water = 1000 * ratio / psychrolib.GetMoistAirVolume(air_c, ratio, 101_325)
    assert found["dew_point_c"] == pytest.approx(dew_c, abs=0.11)
    assert found["water_g_m3"] == pytest.approx(water, rel=0.005)
    assert found["margin_c"] == pytest.approx(air_c - dew_c, abs=0.11)


def test_a_panel_near_the_dew_point_and_outside_the_sheet_is_cautioned(capsys, tmp_path):
    told = window(capsys, tmp_path, "--air-c", "33", "--humidity", "85", "--panel-c", "31").out
    assert "dew point: water may settle" in told
    assert "air too warm" in told and "air too humid" in told and "panel too hot" in told
    assert "data sheet" in told


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--air-c", "21", "--humidity", "0"), "above 0"),
        (("--air-c", "21", "--humidity", "101"), "at most 100"),
        (("--air-c", "400", "--humidity", "50"), "--air-c must be"),
        (("--air-c", "nan", "--humidity", "50"), "--air-c must be"),
        (("--air-c", "21", "--humidity", "50", "--product", "no such"), "Coatings are demo_gloss"),
        (("--air-c", "21", "--humidity", "50", "--product", "demo_foam"), "Choose a coating"),
    ],
)
def test_what_cannot_be_is_refused(capsys, tmp_path, arguments, words):
    assert words in window(capsys, tmp_path, *arguments, code=1).err


def test_the_product_may_be_named_as_people_do(capsys, tmp_path):
    arguments = ("--air-c", "21", "--humidity", "50", "--product", "harbour gloss nine")
    assert fields(capsys, tmp_path, *arguments)["product"] == "demo_gloss"


def test_the_chart_shows_todays_point_and_the_wipes_of_the_job(capsys, tmp_path):
    worker = Worker()
    worker.do(*TO_COATING, "set_air_temp temp_c=26", "set_humidity humidity_percent=75")
    worker.do("prepped panel=bonnet", "laying panel=bonnet", "covered panel=bonnet all_round=true")
    worker.do("wait 60", "trial panel=bonnet result=wet", "wait 30")
    worker.do("trial panel=bonnet result=clean")
    data = tmp_path / "data"
    data.mkdir()
    with Journal.open(data) as journal:
        for decision in worker.it.decisions:
            journal.append(decision)
    drawing = tmp_path / "w.svg"
    arguments = ("--air-c", "24", "--humidity", "60", "--chart", str(drawing))
    assert fields(capsys, data, *arguments)["chart"] == str(drawing)
    root = ET.fromstring(drawing.read_text(encoding="utf-8"))
    svg = "{http://www.w3.org/2000/svg}"
    titles = [mark.text for mark in root.iter(f"{svg}title")]
    assert titles == ["wet 1:00", "clean 1:30"]
    (today,) = [c for c in root.iter(f"{svg}circle") if c.get("r") == "8"]
    # 60 percent is the middle of 20 to 100, and 24 degrees lies 21 of 40 below the top, by hand.
    assert float(today.get("cx", "")) == pytest.approx(70 + 600 / 2)
    assert float(today.get("cy", "")) == pytest.approx(78 + 400 * 21 / 40)


def test_without_a_job_the_chart_has_no_wipes(capsys, tmp_path):
    drawing = tmp_path / "w.svg"
    window(capsys, tmp_path, "--air-c", "21", "--humidity", "50", "--chart", str(drawing))
    assert "<title>" not in drawing.read_text(encoding="utf-8")
