"""Car bodies: panels and seams from TOML, mirrored, validated."""

from __future__ import annotations

from typing import Literal, cast

from bayhelper.sheets.reading import Table, read_sheet
from bayhelper.terms.body import Body, Kind, Material, Panel, Seam, Side
from bayhelper.terms.errors import SheetError

SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")
LARGEST_M2 = 6.0
"""No single panel of a car or van is larger (common practice, no source)."""


def load_body(name: str) -> Body:
    """The body of that id, or from a TOML file's path.

    Raises SheetError naming the file, the key, what was wanted and what came.
    """
    return _body(read_sheet("bodies", name))


def _body(sheet: Table) -> Body:
    panels: list[Panel] = []
    for row in sheet.tables("panel"):
        panels.extend(_panels(row))
    seams_table = sheet.table("seams")
    if seams_table is None or not panels:
        raise SheetError(f"{sheet.where}: a body needs [[panel]] tables and a [seams] table.")
    ids = {panel.id for panel in panels}
    seams = [_seam(a, b, ids, sheet.where) for a, b in seams_table.pairs("middle")]
    for a, b in seams_table.pairs("sided"):
        for side in SIDES:
            ends = [f"{side}_{x}" if f"{side}_{x}" in ids else x for x in (a, b)]
            if ends == [a, b]:
                raise SheetError(
                    f"{seams_table.where}: the sided seam {a}, {b} names no sided panel. "
                    "Move it to 'middle'."
                )
            seams.append(_seam(ends[0], ends[1], ids, sheet.where))
    seams_table.finish()
    body = Body(
        id=sheet.text("id"), name=sheet.text("name"), panels=tuple(panels), seams=tuple(seams)
    )
    sheet.finish()
    check_body(body, sheet.where)
    return body


def _panels(row: Table) -> list[Panel]:
    part = row.text("part")
    sided = row.flag("sided")
    area_m2 = row.number("area_m2")
    kind = cast(Kind, row.choice("kind", ("panel", "glass", "hidden", "trim", "wheel"), "panel"))
    material = cast(
        Material, row.choice("material", ("steel", "aluminium", "plastic", "glass", "composite"))
    )
    height = cast(Literal["upper", "lower"], row.choice("height", ("upper", "lower")))
    halves = row.texts("halves")
    sections = row.whole("sections", 1)
    covered_with = row.text("covered_with", "")
    plan_m = row.box("plan_m")
    if sided and plan_m is not None and plan_m[1] < 0:
        raise SheetError(
            f"{row.where}: 'plan_m' of a panel with two sides gives the left one, so it lies left "
            f"of the middle, but begins at {plan_m[1]:g}. Give the left one's corners."
        )
    row.finish()
    sides: tuple[Side, ...] = SIDES if sided else ("middle",)
    return [
        Panel(
            id=f"{side}_{part}" if sided else part,
            kind=kind,
            side=side,
            part=part,
            area_m2=area_m2,
            material=material,
            height=height,
            halves=halves,
            sections=sections,
            covered_with=f"{side}_{covered_with}" if covered_with and sided else covered_with,
            plan_m=_right(plan_m) if side == "right" else plan_m,
        )
        for side in sides
    ]


def _right(
    plan_m: tuple[float, float, float, float] | None,
) -> tuple[float, float, float, float] | None:
    """The same place on the other side of the middle."""
    return None if plan_m is None else (plan_m[0], -plan_m[3], plan_m[2], -plan_m[1])


def _seam(a: str, b: str, ids: set[str], where: str) -> Seam:
    for end in (a, b):
        if end not in ids:
            raise SheetError(
                f"{where}: a seam names '{end}', which is no panel of this body. "
                f"Panels are {', '.join(sorted(ids))}."
            )
    first, second = sorted((a, b))
    return Seam(id=f"{first}+{second}", a=first, b=second)


def check_body(body: Body, where: str) -> None:
    """Refuse a body that is not one connected, mirrored car with every seam named once.

    Raises SheetError.
    """
    ids = [panel.id for panel in body.panels]
    for name, values in (("panel", ids), ("seam", [seam.id for seam in body.seams])):
        twice = sorted({value for value in values if values.count(value) > 1})
        if twice:
            raise SheetError(f"{where}: the {name} '{twice[0]}' is named twice. Keep one of them.")
    for panel in body.panels:
        if panel.area_m2 > LARGEST_M2:
            raise SheetError(
                f"{where}: '{panel.id}' has {panel.area_m2:g} square metres; a panel has at most "
                f"{LARGEST_M2:g}. Give the area in square metres."
            )
        if panel.covered_with and panel.covered_with not in ids:
            raise SheetError(
                f"{where}: '{panel.id}' is covered with '{panel.covered_with}', which is no panel."
            )
    _check_mirrored(body, where)
    _check_connected(body, where)


def mirrored(panel_id: str) -> str:
    """The id of the panel on the other side; middle panels are their own mirror."""
    if panel_id.startswith("left_"):
        return "right_" + panel_id.removeprefix("left_")
    if panel_id.startswith("right_"):
        return "left_" + panel_id.removeprefix("right_")
    return panel_id


def _check_mirrored(body: Body, where: str) -> None:
    seams = {seam.id for seam in body.seams}
    for seam in body.seams:
        twin = "+".join(sorted((mirrored(seam.a), mirrored(seam.b))))
        if twin not in seams:
            raise SheetError(f"{where}: the seam '{seam.id}' has no twin '{twin}' across the car.")


def _check_connected(body: Body, where: str) -> None:
    """Every panel hangs together by seams; a wheel has none."""
    reached = {body.panels[0].id}
    while True:
        wider = reached | {
            end for seam in body.seams if {seam.a, seam.b} & reached for end in (seam.a, seam.b)
        }
        if wider == reached:
            break
        reached = wider
    lost = [panel.id for panel in body.panels if panel.id not in reached and panel.kind != "wheel"]
    if lost:
        raise SheetError(
            f"{where}: no seam joins '{lost[0]}' to the rest of the car. Name its seams."
        )
