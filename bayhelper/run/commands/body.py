"""`bayhelper body`: whether a car body's sheet is sound, and what it looks like."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import Path

from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import data_folder, load_settings
from bayhelper.sheets.bodies import load_body
from bayhelper.show.plan_view import plan_view
from bayhelper.speak.names import Names
from bayhelper.terms.body import Body
from bayhelper.terms.errors import RunError


def check(options: argparse.Namespace) -> int:
    """Read the sheet; say what is in it, or what is wrong and where."""
    body = load_body(options.body)
    settings = load_settings(data_folder(options.data))
    scope = replace(build_scope(settings), body=body)
    named = build_library().named_panels(scope)
    silent = [panel.id for panel in body.panels if panel.id not in named]
    painted_m2 = sum(panel.area_m2 for panel in body.panels if panel.kind == "panel")
    fields = {
        "body": body.id,
        "name": body.name,
        "panels": len(body.panels),
        "seams": len(body.seams),
        "painted_m2": round(painted_m2, 2),
        "not_drawn": [panel.id for panel in body.panels if panel.plan_m is None],
        "cannot_be_named": silent,
    }
    if options.json:
        print(json.dumps(fields))
        return 0
    print(
        f"{body.name} ({body.id}): {len(body.panels)} panels, {len(body.seams)} seams, "
        f"{painted_m2:.1f} square metres of paint. The sheet is sound."
    )
    if silent:
        print(
            f"The grammar has no words for {', '.join(silent)}: nobody can name them. Use parts of "
            "grammars/panels.jsgf."
        )
    return 0


def draw(options: argparse.Namespace) -> int:
    """Write the body as a drawing from above."""
    body = load_body(options.body)
    file: Path = options.out or Path(f"{body.id}.svg")
    if not any(panel.plan_m for panel in body.panels):
        raise RunError(
            f"No panel of {options.body} has a place in the drawing. Give 'plan_m' for each panel, "
            "as the bodies that come with bayhelper do."
        )
    file.write_text(plan_view(body, _names(body, options)), encoding="utf-8")
    print(json.dumps({"body": body.id, "file": str(file)}) if options.json else file)
    return 0


def _names(body: Body, options: argparse.Namespace) -> dict[str, str]:
    names = Names(body, load_settings(data_folder(options.data)).speaks())
    return {panel.id: names.panel(panel.id) for panel in body.panels}
