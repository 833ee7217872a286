"""Every panel of every shipped body has words in both dialects; a body of one's own may not."""

from dataclasses import replace

import pytest

from bayhelper.run.cli import main
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.sheets.bodies import load_body
from bayhelper.sheets.reading import shipped_ids

LIBRARY = build_library()


@pytest.mark.parametrize("dialect", ["uk", "us"])
@pytest.mark.parametrize("body", shipped_ids("bodies"))
def test_every_panel_of_a_shipped_body_can_be_named(body, dialect):
    scope = replace(build_scope(Settings(dialect=dialect)), body=load_body(body))
    assert LIBRARY.named_panels(scope) == {panel.id for panel in scope.body.panels}


OWN = """
id = "own"
name = "a body of one's own"
[[panel]]
part = "roof"
area_m2 = 1.5
material = "steel"
height = "upper"
[[panel]]
part = "{part}"
kind = "{kind}"
sided = true
area_m2 = 0.2
material = "aluminium"
height = "lower"
[seams]
sided = [{seams}]
middle = []
"""


@pytest.mark.parametrize(
    ("part", "kind", "named"),
    [("front_wheel", "wheel", True), ("front_shut", "hidden", True), ("fin", "panel", False)],
)
def test_check_says_which_panels_nobody_can_name(part, kind, named, tmp_path, capsys):
    seams = "" if kind == "wheel" else f'["roof", "{part}"]'
    file = tmp_path / "own.toml"
    file.write_text(OWN.format(part=part, kind=kind, seams=seams))
    assert main(["body", "check", str(file), "--data", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert ("nobody can name" not in told) is named
    assert named or f"left_{part}, right_{part}" in told
