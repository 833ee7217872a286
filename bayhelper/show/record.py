"""The plain-text record of a job, for the shop and the owner."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import tzinfo

from bayhelper.decide.job.curing import kept_until
from bayhelper.decide.job.seams import bare_seams, unwiped_seams
from bayhelper.decide.job.state import Job
from bayhelper.show.cautions import cautions
from bayhelper.show.overruled import overruled, plain
from bayhelper.show.panel_lines import effective, panel_lines
from bayhelper.show.times import Times
from bayhelper.terms import events as ev
from bayhelper.terms.body import Seam

RULE = "-" * 72
"""Line under each heading; the record is as wide as a page of plain text."""


def record(
    job: Job, zone: tzinfo | None = None, clip_faults: Mapping[str, str] | None = None
) -> str:
    """Everything of the job that an owner or a colleague asks for.

    Times are in the given zone, or this computer's, and its offset from UTC is stated.
    `clip_faults` says what is wrong with recordings, by file name, such as 'missing'.
    """
    times = Times(zone, job.opened_at_utc)
    sections = {
        "Stages": _stages(job, times),
        "Panels": panel_lines(job, times),
        "Pads": _pads(job),
        "Seams": _seams(job),
        "High spots, runs and water": _defects(job, times),
        "Done although the helper warned": overruled(job, times),
        "Notes": _notes(job, times, clip_faults or {}),
        "Photographs": _photographs(job, times),
        "Until it has cured": _cure(job, times),
        "Cautions": cautions(job),
    }
    lines = _head(job, times)
    for title, content in sections.items():
        lines += ["", title, RULE, *content]
    lines += [
        "",
        "Readings are of the total film; a gauge cannot tell how much clear coat is left.",
        "The product's own data sheet has the last word on times and handling.",
    ]
    return "\n".join(lines)


def _head(job: Job, times: Times) -> list[str]:
    used = [
        f"{role.replace('_', ' ')}: {job.products[name].name}"
        for role, name in job.plan.products.items()
        if name in job.products
    ]
    last_utc = job.decisions[-1].at_utc if job.decisions else job.opened_at_utc
    return [
        f"Record of job {job.id}",
        RULE,
        f"Car        {job.car or 'not described'} ({job.body.name})",
        f"Service    {job.plan.name}, {job.plan.layers} layer(s)",
        f"Times      {times.offsets(last_utc)}",
        f"Opened     {times.stamp(job.opened_at_utc)}",
        f"Closed     {times.stamp(job.closed_at_utc) if job.closed_at_utc else 'still open'}",
        f"By         {', '.join(job.technicians) or 'not named'}",
        *_clock_set(job),
        f"Air        {_air(job)}",
        f"Batch      {job.batch or 'not told'}",
        *(f"{'Products' if not n else '':11}{text}" for n, text in enumerate(used)),
    ]


def _clock_set(job: Job) -> list[str]:
    if not job.wall_ahead_s:
        return []
    way = "forward" if job.wall_ahead_s > 0 else "back"
    return [
        f"Clock      was set {way} by {abs(job.wall_ahead_s):.0f} s during the job; all times here "
        "are of the clock as it was before"
    ]


def _air(job: Job) -> str:
    temp = f"{job.air_c:g} °C" if job.air_c is not None else "temperature not read"
    damp = f"{job.air_rh_percent:g} %" if job.air_rh_percent is not None else "humidity not read"
    return f"{temp}, {damp}"


def _stages(job: Job, times: Times) -> list[str]:
    return [
        f"{times.clock(event.at_utc)}  {event.stage.replace('_', ' ')}"
        for event in effective(job)
        if isinstance(event, ev.StageStarted)
    ] or ["none begun"]


def _pads(job: Job) -> list[str]:
    pad = job.pad
    if not (pad.cleanings or pad.changes or pad.last_section_at_utc):
        return ["none used"]
    said = f" ({pad.cleanings_assumed} by habit, not said)" if pad.cleanings_assumed else ""
    return [f"pads on the machine: {1 + pad.changes}; cleanings: {pad.cleanings}{said}"]


def _seams(job: Job) -> list[str]:
    bare = [f"{_between(seam)}: not reported as lapped" for seam in bare_seams(job)]
    unwiped = [f"{_between(seam)}: lapped, not reported as wiped" for seam in unwiped_seams(job)]
    return [*bare, *unwiped] or ["none known to be bare or unwiped"]


def _between(seam: Seam) -> str:
    return f"{plain(seam.a)} to {plain(seam.b)}"


def _defects(job: Job, times: Times) -> list[str]:
    done = {"water": "dried"}
    return [
        f"{times.clock(d.found_at_utc)}  {d.kind.replace('_', ' ')}, {d.panel.replace('_', ' ')}"
        f"{', ' + d.place.replace('_', ' ') if d.place else ''}: "
        + (
            f"{done.get(d.kind, 'levelled')} {times.clock(d.fixed_at_utc)}"
            if d.fixed_at_utc
            else f"not {done.get(d.kind, 'levelled')} yet"
        )
        for d in job.defects
    ] or ["none reported"]


def _notes(job: Job, times: Times, faults: Mapping[str, str]) -> list[str]:
    return [
        f"{times.clock(note.started_at_utc)}  {note.id}: "
        f"{note.text or 'no transcript'} "
        f"[{', '.join(_clip(clip, faults) for clip in note.clips) or 'typed'}]"
        for note in job.notes
    ] or ["none"]


def _photographs(job: Job, times: Times) -> list[str]:
    return [
        f"{times.clock(p.taken_at_utc)}  {plain(p.panel) if p.panel else 'the car'}, "
        f"{p.stage.replace('_', ' ') or 'before the job'}: {p.file}"
        f"{'' if p.time_from == 'exif' else ' (time of the file)'}"
        for p in sorted(job.photos, key=lambda photo: photo.taken_at_utc)
    ] or ["none kept"]


def _clip(name: str, faults: Mapping[str, str]) -> str:
    return f"{name}: {faults[name]}" if name in faults else name


def _cure(job: Job, times: Times) -> list[str]:
    coating = job.product("coating")
    dated = [f"{k.keep.rule} until {times.stamp(k.until_utc)}" for k in kept_until(job)]
    lines = [*dated, *(coating.cure if coating else ())]
    return lines or ["see the product's data sheet"]
