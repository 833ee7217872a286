"""The pad on the machine: when it must be cleaned, and how many were used."""

from __future__ import annotations

from bayhelper.decide.job.state import Job


def sections_allowed(job: Job) -> int:
    """Sections that may be worked before the pad must be cleaned: the habit set for the job."""
    polish = job.product("polish")
    return (polish.sections_per_clean if polish else None) or 1


def dirty(job: Job) -> bool:
    """Whether the pad must be cleaned before fresh polish goes on it."""
    return job.pad.sections >= sections_allowed(job)


def cleaned_by_habit(job: Job) -> bool:
    """Whether a section that is reported now tells that the pad was cleaned before it.

    So it is when that was due by the habit set for the job, unless somebody insisted on fresh
    polish on the dirty pad.
    """
    return dirty(job) and not job.pad.loaded


def sections_left(job: Job) -> int:
    """Sections that may still be worked before the pad must be cleaned."""
    return max(0, sections_allowed(job) - job.pad.sections)


def pads_used(job: Job) -> int:
    """Pads that were on the machine so far: the first, and every change."""
    return 1 + job.pad.changes
