"""Whether one more panel fits: an exact search over who wipes which panel when.

A panel may be levelled from its earliest time on, and levelling must begin by its latest: it
follows the strokes in which the panel was laid, and is quicker, so that the first spot is the
oldest (common practice, no source). The earliest times are release times, so that sorting by what
comes due first is not enough (scheduling on parallel machines with release times and deadlines;
Garey and Johnson, 'Computers and Intractability', 1979, problem SS1). With so few panels every
order can be looked at: subset by subset, keeping for each only those ends of work of the people
that no other ends beat (dynamic programming over subsets; Held and Karp, 'A dynamic programming
approach to sequencing problems', 1962).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bayhelper.terms.errors import ReckonError

MOST_TASKS = 10
"""More would take too long to look through: each doubles the subsets (chosen;
benchmarks/results/lookahead.md has the times that fewer take)."""
STEP_S = 10.0
"""A start is looked for in steps of so much: nobody begins a panel to the second (chosen)."""


@dataclass(frozen=True)
class Task:
    """A piece of work that somebody must begin inside a window."""

    name: str
    """What it is about, such as the part of the car."""
    opens_s: float
    """Not begun before, seconds from now."""
    closes_s: float
    """Begun by then, seconds from now."""
    takes_s: tuple[float, ...]
    """How long each person takes for it, in the order of the people."""
    who: int | None = None
    """The only person who does it; None for whoever is free."""
    side: str = ""
    """Side of the car, such as 'left'; empty where it is reached from both."""


@dataclass(frozen=True)
class Laying:
    """A panel that somebody might lay down: it binds the person, and then comes due itself."""

    name: str
    """The part of the car."""
    who: int
    """Who lays it down."""
    lays_s: float
    """How long that takes."""
    opens_after_s: float
    """From its last stroke to its earliest wipe."""
    closes_after_s: float
    """From its first stroke to the latest begin of its wipe."""
    takes_s: tuple[float, ...]
    """How long each person takes to level it."""
    side: str = ""
    """As of a task."""

    def tasks(self, start_s: float) -> tuple[Task, Task]:
        """What it asks for when it is begun then."""
        covered_s = start_s + self.lays_s
        lays_s = (self.lays_s,) * len(self.takes_s)
        lay = Task(self.name, start_s, start_s, lays_s, self.who, self.side)
        opens_s, closes_s = covered_s + self.opens_after_s, start_s + self.closes_after_s
        return lay, Task(self.name, opens_s, closes_s, self.takes_s, side=self.side)


@dataclass(frozen=True)
class PlannedTask:
    """When somebody does a task."""

    task: Task
    """Which."""
    who: int
    """By whom."""
    start_s: float
    """Seconds from now."""


def schedule(
    tasks: Sequence[Task], free_s: Sequence[float], across_s: float = 0.0
) -> tuple[PlannedTask, ...] | None:
    """An order of work in which every task is begun in its window; None if there is none.

    `free_s` says from when on each person is free, seconds from now; where they stand then is not
    known. From a task on one side straight to one on another they walk `across_s`. Raises
    ReckonError for more than MOST_TASKS tasks, for no people, and for a task with times for other
    than these people.
    """
    _checked(tasks, free_s)
    count, everybody = len(tasks), range(len(free_s))
    fronts: list[list[_State]] = [[] for _ in range(1 << count)]
    fronts[0] = [_State(tuple(free_s), ("",) * len(free_s), None, None)]
    for mask in range((1 << count) - 1):
        left = [number for number in range(count) if not mask >> number & 1]
        for state in fronts[mask]:
            if any(_too_late(tasks[number], state.free_s) for number in left):
                continue
            for number in left:
                task = tasks[number]
                for who in everybody if task.who is None else (task.who,):
                    walks_s = across_s if _is_across(state.sides[who], task.side) else 0.0
                    start_s = max(state.free_s[who] + walks_s, task.opens_s)
                    if start_s <= task.closes_s:
                        after = state.then(PlannedTask(task, who, start_s))
                        _keep(fronts[mask | 1 << number], after, across_s)
    if not fronts[-1]:
        return None
    return _told(fronts[-1][0])


def start_in_s(
    laying: Laying,
    tasks: Sequence[Task],
    free_s: Sequence[float],
    across_s: float = 0.0,
    *,
    step_s: float = STEP_S,
) -> float | None:
    """The soonest start, in steps from now, with which everything still fits; None without one.

    When the tasks by themselves do not fit, nothing more does. For the rest see `schedule`.
    """
    alone = schedule(tasks, free_s, across_s)
    if alone is None:
        return None
    last_s = max([*free_s, *(slot.start_s + slot.task.takes_s[slot.who] for slot in alone)])
    start_s = 0.0
    while start_s < last_s + across_s + step_s:
        whole = [*tasks, *laying.tasks(start_s)]
        if start_s >= free_s[laying.who] and schedule(whole, free_s, across_s):
            return start_s
        start_s += step_s
    return None


@dataclass(frozen=True)
class _State:
    """When and where everybody is free after some tasks, and how that came about."""

    free_s: tuple[float, ...]
    sides: tuple[str, ...]
    before: _State | None
    slot: PlannedTask | None

    def then(self, slot: PlannedTask) -> _State:
        """After one more task."""
        who, end_s = slot.who, slot.start_s + slot.task.takes_s[slot.who]
        free_s = (*self.free_s[:who], end_s, *self.free_s[who + 1 :])
        sides = (*self.sides[:who], slot.task.side, *self.sides[who + 1 :])
        return _State(free_s, sides, self, slot)

    def beats(self, other: _State, across_s: float) -> bool:
        """Whether nobody is later than there, wherever each is wanted next."""
        for who, side in enumerate(self.sides):
            walks_s = across_s if side and side != other.sides[who] else 0.0
            if self.free_s[who] + walks_s > other.free_s[who]:
                return False
        return True


def _is_across(here: str, there: str) -> bool:
    return bool(here and there) and here != there


def _too_late(task: Task, free_s: tuple[float, ...]) -> bool:
    people = range(len(free_s)) if task.who is None else (task.who,)
    return min(max(free_s[who], task.opens_s) for who in people) > task.closes_s


def _keep(front: list[_State], state: _State, across_s: float) -> None:
    """Add a state, unless one that is there is as good; drop those that it beats."""
    if any(known.beats(state, across_s) for known in front):
        return
    front[:] = [known for known in front if not state.beats(known, across_s)]
    front.append(state)


def _told(state: _State) -> tuple[PlannedTask, ...]:
    slots: list[PlannedTask] = []
    here: _State | None = state
    while here is not None:
        if here.slot is not None:
            slots.append(here.slot)
        here = here.before
    return tuple(sorted(slots, key=lambda slot: slot.start_s))


def _checked(tasks: Sequence[Task], free_s: Sequence[float]) -> None:
    if not free_s:
        raise ReckonError("Expected at least one person, got none. Say who works.")
    if len(tasks) > MOST_TASKS:
        raise ReckonError(
            f"Expected at most {MOST_TASKS} things to be done, got {len(tasks)}. Look at the most "
            "urgent ones."
        )
    for task in tasks:
        if len(task.takes_s) != len(free_s):
            raise ReckonError(
                f"'{task.name}' has times for {len(task.takes_s)} people, but there are "
                f"{len(free_s)}. Give one for each."
            )
