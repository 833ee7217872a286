"""Runs a state table with the `transitions` library: a state and a trigger give a state."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from transitions import Machine, MachineError

from bayhelper.decide.job import tables
from bayhelper.decide.job.tables import Row
from bayhelper.terms.errors import DecisionError


class _Carrier:
    """The object that the library moves from state to state; it is given `trigger` by it."""

    state: str
    trigger: Callable[[str], bool]


@cache
def _machine(rows: tuple[Row, ...], start: str) -> tuple[Machine, _Carrier]:
    carrier = _Carrier()
    machine = Machine(
        model=carrier,
        states=list(tables.states(rows, start)),
        transitions=[list(row) for row in rows],
        initial=start,
        auto_transitions=False,
        queued=False,
    )
    return machine, carrier


def _fire(rows: tuple[Row, ...], start: str, state: str, trigger: str) -> str:
    machine, carrier = _machine(rows, start)
    machine.set_state(state, carrier)
    try:
        carrier.trigger(trigger)
    except (MachineError, AttributeError) as error:
        raise DecisionError(
            f"'{trigger}' cannot follow '{state}': the state table has no such row. "
            "The record was made by another version, or the program has a fault."
        ) from error
    return carrier.state


@cache
def _triggers(rows: tuple[Row, ...], start: str, state: str) -> frozenset[str]:
    return frozenset(_machine(rows, start)[0].get_triggers(state))


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
