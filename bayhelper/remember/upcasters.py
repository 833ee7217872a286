"""What older versions of events and sheets are turned into, so that every old journal is read.

When the form of an event, or of a sheet that is kept inside one, changes: raise `version` in its
class, add the step from the version before to the table here, and keep a journal of the form that
was released before (`tests/remember/test_old_journals.py` says how).
"""

from __future__ import annotations

from collections.abc import Mapping

from bayhelper.plain.versions import Record, Step, Version


def _job_opened_2(fields: Record) -> Record:
    """The sheets inside carry a version from now on; what was there is the first of each."""
    products = fields["products"]
    return fields | {
        "plan": _first(fields["plan"]),
        "body": _first(fields["body"]),
        "products": list(map(_first, products)) if isinstance(products, list) else products,
    }


def _first(sheet: object) -> object:
    return {"version": 1, **sheet} if isinstance(sheet, dict) else sheet


STEPS: Mapping[Version, Step] = {
    ("JobOpened", 1): Step(_job_opened_2),
}
"""By the name and version that a record has, the step to its next version."""
