"""Service plans from TOML."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.sheets.reading import Sheet, read_sheet
from bayhelper.terms.choices import STAGES
from bayhelper.terms.errors import SheetError
from bayhelper.terms.plan import Plan

COATED_KINDS = ("panel", "glass", "hidden", "trim")
"""Kinds of surface that a plan may coat: all that a body has but wheels."""


def load_plan(name: str) -> Plan:
    """The plan of that id, or from a TOML file's path.

    Raises SheetError naming the file, the key, what was wanted and what came.
    """
    return plan_of(read_sheet("plans", name))


def plan_of(sheet: Sheet) -> Plan:
    """The plan that a sheet holds. Raises SheetError as `load_plan`."""
    plan = sheet.read(Plan)
    if not plan.stages or [s for s in STAGES if s in plan.stages] != list(plan.stages):
        raise SheetError(
            f"{sheet.where}: 'stages' must be some of {', '.join(STAGES)}, in that order, "
            f"not {', '.join(plan.stages) or 'empty'}. Put them in order."
        )
    if unknown := [kind for kind in plan.coats if kind not in COATED_KINDS]:
        raise SheetError(
            f"{sheet.where}: 'coats' must be some of {', '.join(COATED_KINDS)}, but names "
            f"'{unknown[0]}'. Correct it there."
        )
    return plan if plan.coats else replace(plan, coats=("panel",))
