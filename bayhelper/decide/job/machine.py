"""Asks a state table, held by the `transitions` library: a state and a trigger give a state."""

from __future__ import annotations

from functools import cache

from transitions import Machine

from bayhelper.decide.job import tables
from bayhelper.decide.job.tables import Row
from bayhelper.terms.errors import DecisionError


@cache
def _machine(rows: tuple[Row, ...], start: str) -> Machine:
    """The table with nothing that moves through it, so that it never changes.

    The library refuses a table that names a state which is not among its states.
    """
    return Machine(
        model=None,
        states=list(tables.states(rows, start)),
        transitions=[list(row) for row in rows],
        initial=start,
        auto_transitions=False,
    )


def _fire(rows: tuple[Row, ...], start: str, state: str, trigger: str) -> str:
    found = _machine(rows, start).get_transitions(trigger, state)
    if not found:
        raise DecisionError(
            f"'{trigger}' cannot follow '{state}': the state table has no such row. "
            "The record was made by another version, or the program has a fault."
        )
    return str(found[0].dest)


@cache
def _triggers(rows: tuple[Row, ...], start: str, state: str) -> frozenset[str]:
    return frozenset(_machine(rows, start).get_triggers(state))


def fire_job(state: str, trigger: str) -> str:
    """The stage that follows. Raises DecisionError when the table has no such row."""
    return _fire(tables.JOB_ROWS, tables.JOB_START, state, trigger)


def job_triggers(state: str) -> frozenset[str]:
    """What may happen to a job in this stage."""
    return _triggers(tables.JOB_ROWS, tables.JOB_START, state)


def fire_panel(state: str, trigger: str) -> str:
    """The panel's state that follows. Raises DecisionError when the table has no such row."""
    return _fire(tables.PANEL_ROWS, tables.PANEL_START, state, trigger)


def panel_triggers(state: str) -> frozenset[str]:
    """What may happen to a panel in this state."""
    return _triggers(tables.PANEL_ROWS, tables.PANEL_START, state)
