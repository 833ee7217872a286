"""Car bodies: sound, drawn, and every panel of theirs sayable."""

import re
from xml.etree import ElementTree

import pytest

from bayhelper.run.cli import main
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.sheets.bodies import load_body, mirrored
from bayhelper.sheets.reading import shipped_ids
from bayhelper.show.plan_view import plan_view
from bayhelper.speak.names import Names
from bayhelper.terms.errors import SheetError
from tests.known import known

BODIES = shipped_ids("bodies")
PAINT_M2 = {"van": (18, 28)}
"""Common practice, no source: a car has some ten to fifteen square metres of paint, a van twenty
and more."""
MINIMAL = """
id = "tub"
name = "tub"
[[panel]]
part = "bonnet"
area_m2 = 1.5
material = "steel"
height = "upper"
plan_m = [0.0, -0.5, 1.0, 0.5]
[[panel]]
part = "door"
sided = true
area_m2 = 0.5
material = "steel"
height = "upper"
plan_m = [0.2, 0.6, 0.9, 1.0]
[seams]
sided = [["bonnet", "door"]]
"""


@pytest.mark.parametrize("name", BODIES)
def test_a_body_has_the_paint_of_its_kind(name):
    least, most = PAINT_M2.get(name, (8, 16))
    panels = [panel for panel in load_body(name).panels if panel.kind == "panel"]
    assert least < sum(panel.area_m2 for panel in panels) < most


@pytest.mark.parametrize("name", BODIES)
@pytest.mark.parametrize("dialect", ["uk", "us"])
def test_each_panel_can_be_said_by_the_name_that_it_is_called_by(name, dialect):
    body = load_body(name)
    settings = Settings(body=name, dialect=dialect)
    offer = build_library().offer(build_scope(settings))
    names = Names(body, dialect)
    for panel in body.panels:
        said = ["buffed", "the", *names.panel(panel.id).replace("center", "centre").split()]
        command = offer.match(said).command
        assert command is not None and command.slots == {"panel": panel.id}, said


@pytest.mark.parametrize("name", BODIES)
def test_a_job_can_be_opened_on_it_by_voice(name):
    offer = build_library().offer(build_scope(Settings()))
    found = {
        dict(command.slots)["body"]
        for words in ("saloon", "hatchback", "coupe", "estate", "sport utility", "pickup", "van",
                      "double cab pickup", "convertible", "station wagon", "sedan")
        if (command := offer.match(f"open a new job on a {words}".split()).command)
    }  # fmt: skip
    assert name in found


@pytest.mark.parametrize("name", BODIES)
def test_its_drawing_has_every_panel_once_and_is_its_own_mirror(name):
    body = load_body(name)
    svg = ElementTree.fromstring(plan_view(body, {panel.id: panel.id for panel in body.panels}))
    tag = "{http://www.w3.org/2000/svg}"
    boxes = {}
    for group in svg.iter(f"{tag}g"):
        title, rect = group.find(f"{tag}title"), group.find(f"{tag}rect")
        if rect is not None:
            name_drawn = known(known(title).text)
            boxes[name_drawn] = {
                key: int(known(rect.get(key))) for key in ("x", "y", "width", "height")
            }
    assert set(boxes) == {panel.id for panel in body.panels}
    seams = [line for line in svg.iter(f"{tag}line") if line.get("class") == "seam"]
    assert len(seams) == len(body.seams)
    # Rounding to whole pixels may cost one at each edge.
    middle = {box["y"] + box["height"] / 2 for name, box in boxes.items() if name == mirrored(name)}
    assert max(middle) - min(middle) <= 1
    for panel, box in boxes.items():
        twin = boxes[mirrored(panel)]
        assert (box["x"], box["width"]) == (twin["x"], twin["width"])
        across = box["y"] + box["height"] + twin["y"]
        assert abs(across - 2 * min(middle)) <= 3


@pytest.mark.parametrize("name", BODIES)
def test_no_two_panels_are_drawn_over_one_another(name):
    drawn = [(panel.id, known(panel.plan_m)) for panel in load_body(name).panels]
    for index, (a, (ax0, ay0, ax1, ay1)) in enumerate(drawn):
        for b, (bx0, by0, bx1, by1) in drawn[index + 1 :]:
            apart = ax1 <= bx0 or bx1 <= ax0 or ay1 <= by0 or by1 <= ay0
            assert apart, (a, b)


def test_a_body_of_ones_own_is_checked_and_drawn(tmp_path, capsys):
    sheet = tmp_path / "tub.toml"
    sheet.write_text(MINIMAL)
    assert main(["body", "check", str(sheet), "--data", str(tmp_path)]) == 0
    assert "3 panels, 2 seams, 2.5 square metres" in capsys.readouterr().out
    drawing = tmp_path / "tub.svg"
    assert main(["body", "draw", str(sheet), "--out", str(drawing), "--data", str(tmp_path)]) == 0
    assert "right door" in drawing.read_text()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("plan_m = [0.2, -0.6, 0.9, 1.0]", "lies left"),
        ("plan_m = [0.9, 0.6, 0.2, 1.0]", "two corners"),
        ("plan_m = [0.2, 0.6, 0.9]", "two corners"),
    ],
)
def test_a_place_that_cannot_be_is_refused(wrong, said, tmp_path):
    sheet = tmp_path / "tub.toml"
    sheet.write_text(MINIMAL.replace("plan_m = [0.2, 0.6, 0.9, 1.0]", wrong))
    with pytest.raises(SheetError, match=said):
        load_body(str(sheet))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b'id = "tub\xff"', "expected UTF-8"),
        (b'id = "tub"\nname = "tub"\npanel = [1, 2]\n[seams]', "entry 1 of 'panel'"),
    ],
)
def test_a_file_that_is_no_body_is_told_by_the_command(content, said, tmp_path, capsys):
    sheet = tmp_path / "tub.toml"
    sheet.write_bytes(content)
    assert main(["body", "check", str(sheet), "--data", str(tmp_path)]) == 1
    told = capsys.readouterr().err
    assert said in told and "tub.toml" in told and "Traceback" not in told


def test_a_body_without_places_says_what_to_give(tmp_path, capsys):
    sheet = tmp_path / "tub.toml"
    sheet.write_text(re.sub(r"plan_m = .*\n", "", MINIMAL))
    assert main(["body", "draw", str(sheet), "--data", str(tmp_path)]) == 1
    assert "plan_m" in capsys.readouterr().err
