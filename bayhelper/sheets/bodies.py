"""Car bodies: panels and seams from TOML, mirrored, validated."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain

from bayhelper.plain.words import table_words
from bayhelper.sheets.reading import Sheet, read_sheet
from bayhelper.terms.body import Body, Box, Height, Kind, Material, Panel, Seam, Side
from bayhelper.terms.errors import SheetError

SIDES: tuple[Side, ...] = ("left", "right")
"""Sides of the car that a sided panel stands for, in the order in which they are walked."""
LARGEST_M2 = 6.0
"""No single panel of a car or van is larger (common practice, no source)."""


@dataclass(frozen=True)
class PanelRow:
    """One [[panel]] of a sheet; for the fields see terms.body.Panel."""

    part: str
    """Name without a side."""
    area_m2: float
    """Square metres of one."""
    material: Material
    """What it is made of."""
    height: Height
    """Upper or lower."""
    sided: bool = False
    """Whether it stands for a left and a right one."""
    kind: Kind = "panel"
    """What sort of surface it is."""
    halves: tuple[str, ...] = ()
    """Names of its halves."""
    sections: int = 1
    """Machining sections."""
    covered_with: str = ""
    """Part in whose lay-down it is included."""
    plan_m: Box | None = None
    """Where it lies; of a sided panel the left one's."""

    def panels(self, where: str) -> list[Panel]:
        """The panel, or the left and the right one. Raises SheetError."""
        box = self.plan_m
        if box is not None and not (box[0] < box[2] and box[1] < box[3]):
            raise SheetError(
                f"{where}: 'plan_m' must be two corners such as [1.6, 0.9, 2.5, 1.6], the second "
                f"one farther back and farther left, not {list(box)}. Correct it there."
            )
        if not self.sided:
            return [self._panel("middle", "")]
        if box is not None and box[1] < 0:
            raise SheetError(
                f"{where}: 'plan_m' of a panel with two sides gives the left one, so it lies left "
                f"of the middle, but begins at {box[1]:g}. Give the left one's corners."
            )
        return [self._panel(side, f"{side}_") for side in SIDES]

    def _panel(self, side: Side, prefix: str) -> Panel:
        return Panel(
            id=f"{prefix}{self.part}",
            kind=self.kind,
            side=side,
            part=self.part,
            area_m2=self.area_m2,
            material=self.material,
            height=self.height,
            halves=self.halves,
            sections=self.sections,
            covered_with=f"{prefix}{self.covered_with}" if self.covered_with else "",
            plan_m=_right(self.plan_m) if side == "right" else self.plan_m,
        )


@dataclass(frozen=True)
class SeamRows:
    """The [seams] of a sheet: pairs of names."""

    middle: tuple[tuple[str, str], ...] = ()
    """Names as they are."""
    sided: tuple[tuple[str, str], ...] = ()
    """Names without a side, each pair standing for one seam on either side."""


@dataclass(frozen=True)
class BodySheet:
    """A body as its TOML has it."""

    id: str
    """Such as 'saloon'."""
    name: str
    """Such as 'four-door saloon'."""
    panel: tuple[PanelRow, ...]
    """In a good walking order."""
    seams: SeamRows
    """Where panels meet."""


def load_body(name: str) -> Body:
    """The body of that id, or from a TOML file's path.

    Raises SheetError naming the file, the key, what was wanted and what came.
    """
    return body_of(read_sheet("bodies", name))


def body_of(sheet: Sheet) -> Body:
    """The body that a sheet holds. Raises SheetError as `load_body`."""
    rows = sheet.read(BodySheet)
    where = sheet.where
    if not rows.panel:
        raise SheetError(f"{where}: a body needs [[panel]] tables, but there is none. Add them.")
    panels = tuple(
        chain.from_iterable(
            row.panels(table_words(where, ("panel", number)))
            for number, row in enumerate(rows.panel, start=1)
        )
    )
    ids = {panel.id for panel in panels}
    seams = [_seam(a, b, ids, where) for a, b in rows.seams.middle]
    for a, b in rows.seams.sided:
        for side in SIDES:
            ends = [f"{side}_{x}" if f"{side}_{x}" in ids else x for x in (a, b)]
            if ends == [a, b]:
                raise SheetError(
                    f"{where} [seams]: the sided seam {a}, {b} names no sided panel. "
                    "Move it to 'middle'."
                )
            seams.append(_seam(ends[0], ends[1], ids, where))
    body = Body(id=rows.id, name=rows.name, panels=panels, seams=tuple(seams))
    check_body(body, where)
    return body


def _right(plan_m: Box | None) -> Box | None:
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
                f"{where}: '{panel.id}' is covered with '{panel.covered_with}', which is no panel. "
                "Name one of this body."
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
            raise SheetError(
                f"{where}: the seam '{seam.id}' has no twin '{twin}' across the car. "
                "Write it under 'sided'."
            )


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
