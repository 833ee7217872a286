"""A job as plain data, for programs."""

from __future__ import annotations

from dataclasses import asdict

from bayhelper.decide.job.curing import kept_until
from bayhelper.decide.job.seams import bare_seams, unwiped_seams
from bayhelper.decide.job.state import Job, Part
from bayhelper.show.jsonable import jsonable


def summary(job: Job) -> dict[str, object]:
    """The job's state without its sheets and decisions; times RFC 3339, UTC."""
    return {
        "job": job.id,
        "plan": job.plan.id,
        "body": job.body.id,
        "car": job.car,
        "technicians": list(job.technicians),
        "opened_at_utc": jsonable(job.opened_at_utc),
        "closed_at_utc": jsonable(job.closed_at_utc),
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
        "pad": jsonable(asdict(job.pad)),
        "laps": [list(lap) for lap in sorted(job.laps)],
        "bare": [seam.id for seam in bare_seams(job)],
        "unwiped": [seam.id for seam in unwiped_seams(job)],
        "defects": [jsonable(asdict(defect)) for defect in job.defects],
        "notes": [jsonable(asdict(note)) for note in job.notes],
        "photos": [jsonable(asdict(photo)) for photo in job.photos],
        "keep": [
            {"rule": kept.keep.rule, "until_utc": jsonable(kept.until_utc)}
            for kept in kept_until(job)
        ],
        "decisions": job.number,
        "undone": sorted(job.undone),
    }


def _part(part: Part) -> object:
    """A part and the coat on it, side by side."""
    fields = asdict(part)
    coat = fields.pop("coat")
    return jsonable(fields | coat)
