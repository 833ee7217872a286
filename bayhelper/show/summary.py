"""A job as plain data, for programs."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

from bayhelper.decide.job.curing import kept_until
from bayhelper.decide.job.seams import bare_seams, unwiped_seams
from bayhelper.decide.job.state import Job, Part


def summary(job: Job) -> dict[str, object]:
    """The job's state without its sheets and decisions; times RFC 3339, UTC."""
    return {
        "job": job.id,
        "plan": job.plan.id,
        "body": job.body.id,
        "car": job.car,
        "technicians": list(job.technicians),
        "opened_at_utc": _plain(job.opened_at_utc),
        "closed_at_utc": _plain(job.closed_at_utc),
        "stage": job.stage,
        "stages_done": list(job.stages_done),
        "paused": job.paused,
        "wall_ahead_s": job.wall_ahead_s,
        "layer": job.layer,
        "air_c": job.air_c,
        "air_rh_percent": job.air_rh_percent,
        "panel_c": job.panel_c,
        "films_um": {panel: list(films) for panel, films in job.films.items()},
        "flags": job.flags,
        "batch": job.batch,
        "parts": [_part(part) for part in job.parts.values()],
        "pad": _plain(asdict(job.pad)),
        "laps": [list(lap) for lap in sorted(job.laps)],
        "bare": [seam.id for seam in bare_seams(job)],
        "unwiped": [seam.id for seam in unwiped_seams(job)],
        "defects": [_plain(asdict(defect)) for defect in job.defects],
        "notes": [_plain(asdict(note)) for note in job.notes],
        "photos": [_plain(asdict(photo)) for photo in job.photos],
        "keep": [
            {"rule": kept.keep.rule, "until_utc": _plain(kept.until_utc)}
            for kept in kept_until(job)
        ],
        "decisions": job.number,
        "undone": sorted(job.undone),
    }


def _part(part: Part) -> object:
    """A part and the coat on it, side by side."""
    fields = asdict(part)
    coat = fields.pop("coat")
    return _plain(fields | coat)


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value
