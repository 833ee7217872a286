"""Plain data of an older version brought up, step by step, to the one that is known now."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from bayhelper.terms.errors import PlainError

Record = dict[str, object]
"""Plain data of one value by field name, without its type and version."""
Version = tuple[str, int]
"""Name of a type, and its version from 1."""
WHAT_NOW = "Use the version of bayhelper that wrote it, or a newer one."
"""What to do about a record that is newer than this program."""


@dataclass(frozen=True)
class Step:
    """From one version of a type to the next higher one."""

    change: Callable[[Record], Record]
    """Gives the fields of the next version; it may change the record that it is given."""
    renamed_to: str = ""
    """Name of the type from that version on; empty where it keeps its name."""

    def leads_to(self, version: Version) -> Version:
        """The version after this step."""
        name, number = version
        return self.renamed_to or name, number + 1


class Upcasters:
    """Every step there is; checked for gaps when it is made."""

    def __init__(self, known: Mapping[str, int], steps: Mapping[Version, Step]) -> None:
        """`known` gives the version of each type that is known now.

        Raises PlainError for a version that no step leads to or from.
        """
        self._known = dict(known)
        self._steps = dict(steps)
        reached = {step.leads_to(version) for version, step in steps.items()}
        for name, number in [*self._known.items(), *self._steps]:
            if number > 1 and (name, number) not in reached:
                raise PlainError(
                    f"Expected a step to version {number} of {name}, as records of the version "
                    "before exist, but there is none. Add it to the table of steps."
                )
        for name, number in reached:
            if self._known.get(name) != number and (name, number) not in self._steps:
                raise PlainError(
                    f"Expected a step on from version {number} of {name}, but there is none, and "
                    f"it is not the version known now ({self._known.get(name)}). Add it to the "
                    "table of steps, or raise the version of the class."
                )

    def raised(self, name: str, version: object, fields: Record) -> tuple[str, Record]:
        """The name of the type now, and its fields in the version that is known now.

        Raises PlainError for a type or version that is not known, and for fields that a step
        cannot follow.
        """
        known = self._known.get(name)
        if known is None and not any(old == name for old, _ in self._steps):
            raise PlainError(
                f"The record holds {name!r}, which this version does not know. {WHAT_NOW}"
            )
        if not isinstance(version, int) or isinstance(version, bool):
            raise PlainError(
                f"The record's {name} must have a version, a whole number, not {version!r}. "
                f"{WHAT_NOW}"
            )
        at: Version = (name, version)
        while at in self._steps:
            step = self._steps[at]
            try:
                fields = step.change(dict(fields))
            except (KeyError, TypeError, ValueError, AttributeError) as error:
                raise PlainError(
                    f"The record's {at[0]} does not have the fields that its version {at[1]} had: "
                    f"{type(error).__name__}: {error}. It was changed by hand."
                ) from error
            at = step.leads_to(at)
        if self._known.get(at[0]) != at[1]:
            raise PlainError(
                f"The record holds {name} in version {version}; this program knows {known}. "
                f"{WHAT_NOW}"
            )
        return at[0], fields
