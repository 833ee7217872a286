"""The two state tables: what may follow what, for a job and for a panel. The table is the truth."""

from __future__ import annotations

from collections.abc import Iterable

Row = tuple[str, str, str]
"""Trigger, source state, destination state."""

JOB_START = "opened"
"""State of a job before its first stage."""
JOB_ROWS: tuple[Row, ...] = (
    ("start_intake", "opened", "intake"),
    ("start_wash", "intake", "wash"),
    ("start_decontamination", "wash", "decontamination"),
    ("start_decontamination", "inspection", "decontamination"),
    ("start_inspection", "intake", "inspection"),
    ("start_inspection", "wash", "inspection"),
    ("start_inspection", "decontamination", "inspection"),
    ("start_correction", "inspection", "correction"),
    ("start_correction", "panel_wipe", "correction"),
    ("start_correction", "coating", "correction"),
    ("start_correction", "cure", "correction"),
    ("start_panel_wipe", "inspection", "panel_wipe"),
    ("start_panel_wipe", "correction", "panel_wipe"),
    ("start_panel_wipe", "coating", "panel_wipe"),
    ("start_coating", "panel_wipe", "coating"),
    ("start_coating", "correction", "coating"),
    ("start_coating", "cure", "coating"),
    ("start_cure", "coating", "cure"),
    ("close", "intake", "closed"),
    ("close", "wash", "closed"),
    ("close", "decontamination", "closed"),
    ("close", "inspection", "closed"),
    ("close", "correction", "closed"),
    ("close", "panel_wipe", "closed"),
    ("close", "coating", "closed"),
    ("close", "cure", "closed"),
)
"""How one stage may follow another; rework goes back to correction (common practice, no source)."""

PANEL_START = "waiting"
"""State of a panel before anything was done to it."""
PANEL_ROWS: tuple[Row, ...] = (
    ("machine", "waiting", "machining"),
    ("machine", "machined", "machining"),
    ("machine", "prepped", "machining"),
    ("machine", "stale", "machining"),
    ("machine", "rework", "machining"),
    ("machine_done", "machining", "machined"),
    ("prep", "waiting", "prepped"),
    ("prep", "machined", "prepped"),
    ("prep", "prepped", "prepped"),
    ("prep", "stale", "prepped"),
    ("touch", "prepped", "stale"),
    ("go_stale", "prepped", "stale"),
    ("lay", "prepped", "laying"),
    ("lay", "waiting", "laying"),
    ("lay", "machined", "laying"),
    ("lay", "stale", "laying"),
    ("lay", "buffed", "laying"),
    ("lay", "done", "laying"),
    ("cover", "laying", "covered"),
    ("level", "covered", "levelled"),
    ("buff", "levelled", "buffed"),
    ("check", "buffed", "done"),
    ("check", "done", "done"),
    ("send_back", "levelled", "rework"),
    ("send_back", "buffed", "rework"),
    ("send_back", "done", "rework"),
)
"""How one state of a panel may follow another (common practice, no source)."""


def states(rows: Iterable[Row], start: str) -> tuple[str, ...]:
    """Every state of a table, the first one first, in order of appearance."""
    seen = [start]
    for _, source, dest in rows:
        seen.extend(state for state in (source, dest) if state not in seen)
    return tuple(seen)


def diagram(rows: Iterable[Row], start: str) -> str:
    """The table as a Mermaid state diagram, for the docs."""
    lines = ["stateDiagram-v2", f"    [*] --> {start}"]
    lines += [f"    {source} --> {dest}: {trigger}" for trigger, source, dest in rows]
    return "\n".join(lines)
