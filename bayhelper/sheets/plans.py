"""Service plans from TOML."""

from __future__ import annotations

from bayhelper.sheets.reading import read_sheet
from bayhelper.terms.choices import STAGES
from bayhelper.terms.errors import SheetError
from bayhelper.terms.plan import Plan

KINDS = ("panel", "glass", "hidden", "trim")
"""Kinds of surface that a plan may coat."""


def load_plan(name: str) -> Plan:
    """The plan of that id, or from a TOML file's path.

    Raises SheetError naming the file, the key, what was wanted and what came.
    """
    sheet = read_sheet("plans", name)
    stages = sheet.texts("stages")
    if not stages or [s for s in STAGES if s in stages] != list(stages):
        raise SheetError(
            f"{sheet.where}: 'stages' must be some of {', '.join(STAGES)}, in that order, "
            f"but is {', '.join(stages) or 'empty'}."
        )
    coats = sheet.texts("coats") or ("panel",)
    if unknown := [kind for kind in coats if kind not in KINDS]:
        raise SheetError(
            f"{sheet.where}: 'coats' must be some of {', '.join(KINDS)}, but names '{unknown[0]}'."
        )
    products = sheet.table("products")
    cautions = sheet.table("cautions")
    plan = Plan(
        id=sheet.text("id"),
        name=sheet.text("name"),
        stages=stages,
        layers=sheet.whole("layers"),
        products=products.all_texts() if products else {},
        lay_down_s_per_m2=sheet.number("lay_down_s_per_m2", 90.0),
        coats=coats,
        cautions=cautions.all_lists() if cautions else {},
    )
    sheet.finish()
    return plan
