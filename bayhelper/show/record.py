"""The plain-text record of a job, for the shop and the owner."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, tzinfo

from bayhelper.decide.job import Job, Part
from bayhelper.terms import events as ev

RULE = "-" * 72


def record(
    job: Job, zone: tzinfo | None = None, clip_faults: Mapping[str, str] | None = None
) -> str:
    """Everything of the job that an owner or a colleague asks for; times in the given zone.

    `clip_faults` says what is wrong with recordings, by file name, such as 'missing'.
    """
    lines = [
        f"Record of job {job.id}",
        RULE,
        f"Car        {job.car or 'not described'} ({job.body.name})",
        f"Service    {job.plan.name}, {job.plan.layers} layer(s)",
        f"Opened     {_time(job.opened_at_utc, zone)}",
        f"Closed     {_time(job.closed_at_utc, zone) if job.closed_at_utc else 'still open'}",
        f"By         {', '.join(job.technicians) or 'not named'}",
        *_clock_set(job),
        f"Air        {_air(job)}",
        "",
        "Stages",
        RULE,
        *_stages(job, zone),
        "",
        "Panels",
        RULE,
        *_panels(job, zone),
        "",
        "High spots and runs",
        RULE,
        *_defects(job, zone),
        "",
        "Notes",
        RULE,
        *_notes(job, zone, clip_faults or {}),
        "",
        "Until it has cured",
        RULE,
        *_cure(job),
        "",
        "Readings are of the total film; a gauge cannot tell how much clear coat is left.",
        "The product's own data sheet has the last word on times and handling.",
    ]
    return "\n".join(lines)


def _clock_set(job: Job) -> list[str]:
    if not job.wall_ahead_s:
        return []
    way = "forward" if job.wall_ahead_s > 0 else "back"
    return [
        f"Clock      was set {way} by {abs(job.wall_ahead_s):.0f} s during the job; all times here "
        "are of the clock as it was before"
    ]


def _time(instant: datetime | None, zone: tzinfo | None) -> str:
    return instant.astimezone(zone).strftime("%Y-%m-%d %H:%M:%S") if instant else "-"


def _clock(instant: datetime | None, zone: tzinfo | None, assumed: bool = False) -> str:
    if instant is None:
        return "-"
    return instant.astimezone(zone).strftime("%H:%M:%S") + (" (assumed)" if assumed else "")


def _air(job: Job) -> str:
    temp = f"{job.air_c:g} °C" if job.air_c is not None else "temperature not read"
    damp = f"{job.air_rh_percent:g} %" if job.air_rh_percent is not None else "humidity not read"
    return f"{temp}, {damp}"


def _events(job: Job) -> Iterator[ev.Event]:
    for decision in job.decisions:
        if decision.number not in job.undone:
            yield from decision.events


def _stages(job: Job, zone: tzinfo | None) -> list[str]:
    return [
        f"{_clock(event.at_utc, zone)}  {event.stage.replace('_', ' ')}"
        for event in _events(job)
        if isinstance(event, ev.StageStarted)
    ] or ["none begun"]


def _panels(job: Job, zone: tzinfo | None) -> list[str]:
    lines: list[str] = []
    for panel in job.body.panels:
        parts = [part for part in job.parts_of(panel.id) if part.state != "waiting"]
        films, flag = job.films.get(panel.id, ()), job.flags.get(panel.id, "")
        if not parts and not films and not flag:
            continue
        lines.append(f"{panel.id.replace('_', ' ')}{f'  [{flag}]' if flag else ''}")
        if films:
            lines.append(f"    film       {', '.join(f'{um:g}' for um in films)} µm")
        for part in parts:
            lines.extend(_part(part, zone))
    return lines or ["none worked"]


def _part(part: Part, zone: tzinfo | None) -> list[str]:
    half = f" ({part.half} half)" if part.half else ""
    lines = [f"    state      {part.state}{half}"]
    if part.prepped_at_utc:
        lines.append(f"    panel wipe {_clock(part.prepped_at_utc, zone)}")
    if part.started_at_utc:
        who = f", {part.by}" if part.by else ""
        lines.append(
            f"    layer {part.layer}    started "
            f"{_clock(part.started_at_utc, zone, part.started_assumed)}"
            f", covered {_clock(part.covered_at_utc, zone, part.covered_assumed)}{who}"
        )
    if part.window:
        window = part.window
        lines.append(
            f"    window     {window.earliest_s:.0f} / {window.best_s:.0f} s after covered, "
            f"{window.latest_s:.0f} s after started ({window.basis})"
        )
    for covered_for_s, result in part.trials:
        lines.append(f"    trial wipe {covered_for_s:.0f} s after covered: {result}")
    if part.levelled_at_utc:
        took = ""
        if part.covered_at_utc:
            seconds = (part.levelled_at_utc - part.covered_at_utc).total_seconds()
            took = f", {seconds:.0f} s after covered"
        lines.append(f"    levelled   {_clock(part.levelled_at_utc, zone)}{took}")
    if part.buffed_at_utc:
        lines.append(f"    buffed     {_clock(part.buffed_at_utc, zone)}")
    if part.checked_at_utc:
        lines.append(f"    looked at  {_clock(part.checked_at_utc, zone)}")
    return lines


def _defects(job: Job, zone: tzinfo | None) -> list[str]:
    return [
        f"{_clock(d.found_at_utc, zone)}  {d.kind.replace('_', ' ')}, {d.panel.replace('_', ' ')}"
        f"{', ' + d.place.replace('_', ' ') if d.place else ''}: "
        + (f"levelled {_clock(d.fixed_at_utc, zone)}" if d.fixed_at_utc else "not levelled yet")
        for d in job.defects
    ] or ["none reported"]


def _notes(job: Job, zone: tzinfo | None, faults: Mapping[str, str]) -> list[str]:
    return [
        f"{_clock(note.started_at_utc, zone)}  {note.id}: "
        f"{' '.join(note.transcripts) or 'no transcript'} "
        f"[{', '.join(_clip(clip, faults) for clip in note.clips) or 'typed'}]"
        for note in job.notes
    ] or ["none"]


def _clip(name: str, faults: Mapping[str, str]) -> str:
    return f"{name}: {faults[name]}" if name in faults else name


def _cure(job: Job) -> list[str]:
    coating = job.product("coating")
    return list(coating.cure) if coating and coating.cure else ["see the product's data sheet"]
