"""What was done to each panel and when: every layer and every rework, from the facts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from statistics import mean
from typing import Any

from bayhelper.decide.job.state import Job
from bayhelper.show.times import Times
from bayhelper.terms import events as ev

Line = Callable[[Any], str]
ACTS: dict[type[ev.Event], Line] = {
    ev.PanelStarted: lambda e: "machining begun",
    ev.PanelFinished: lambda e: "machining finished",
    ev.ResidueLeft: lambda e: "residue left to be wiped later",
    ev.ResidueWiped: lambda e: "residue wiped",
    ev.PanelPrepped: lambda e: "panel wipe",
    ev.PrepWentStale: lambda e: "panel wipe went stale",
    ev.PanelTouched: lambda e: "touched: panel wipe wanted again",
    ev.LayDownStarted: lambda e: f"layer {e.layer} started",
    ev.Covered: lambda e: f"layer {e.layer} covered",
    ev.TrialMade: lambda e: f"trial wipe {e.covered_for_s:.0f} s after covered: {e.result}",
    ev.TimeExtended: lambda e: f"given {e.extra_s:.0f} s more",
    ev.WindowRetimed: lambda e: "window set anew",
    ev.Levelled: lambda e: "levelled",
    ev.Buffed: lambda e: "buffed",
    ev.Checked: lambda e: "looked over",
    ev.SentBack: lambda e: "sent back to correction",
}
"""What is written of each fact about a panel."""


def effective(job: Job) -> Iterator[ev.Event]:
    """The facts of the job but for those that were taken back."""
    for decision in job.decisions:
        if decision.number not in job.undone:
            yield from decision.events


def panel_lines(job: Job, times: Times) -> list[str]:
    """A block for every panel that something was done to, read from, or noted of."""
    facts = list(effective(job))
    lines: list[str] = []
    for panel in job.body.panels:
        acts = [e for e in facts if type(e) in ACTS and getattr(e, "panel", "") == panel.id]
        films, flag = job.films.get(panel.id, ()), job.flags.get(panel.id, "")
        if not acts and not films and not flag:
            continue
        lines.append(f"{panel.id.replace('_', ' ')}{f'  [{flag}]' if flag else ''}")
        if films:
            lines.append(f"    film {_films(films)}")
        lines.extend(f"    {line}" for line in _states(job, panel.id))
        sections = sum(isinstance(e, ev.SectionDone) and e.panel == panel.id for e in facts)
        if sections:
            lines.append(f"    sections machined: {sections}")
        lines.extend(f"    {line}" for line in _acts(acts, times))
    return lines or ["none worked"]


def _states(job: Job, panel: str) -> list[str]:
    parts = [part for part in job.parts_of(panel) if part.state != "waiting"]
    return [f"stands: {part.state}{f' ({part.half} half)' * bool(part.half)}" for part in parts]


def _films(films: tuple[float, ...]) -> str:
    readings = f"{', '.join(f'{um:g}' for um in films)} µm"
    if len(films) < 2:
        return readings
    return f"{readings} (mean {mean(films):.1f}, least {min(films):g})"


def _acts(acts: list[ev.Event], times: Times) -> Iterator[str]:
    covered: dict[str, ev.Covered] = {}
    windows: dict[str, ev.Window] = {}
    started: dict[str, datetime] = {}
    for event in acts:
        half = getattr(event, "half", "")
        words = [ACTS[type(event)](event), f"{half} half" if half else "", event.by]
        if isinstance(event, ev.Covered):
            covered[half] = event
        if isinstance(event, ev.Levelled) and half in covered:
            seconds = (event.at_utc - covered[half].at_utc).total_seconds()
            words[0] += f" {seconds:.0f} s after covered"
            if half in windows:
                late = (event.at_utc - started[half]).total_seconds() > windows[half].latest_s
                words[0] += _against(windows[half], seconds, late=late)
        marks = " (assumed)" if getattr(event, "assumed", False) else ""
        if isinstance(event, ev.LayDownStarted) and event.included_in:
            marks = f" (with the {event.included_in.replace('_', ' ')})"
        marks += " (all the same)" if getattr(event, "insisted", False) else ""
        yield f"{times.clock(event.at_utc)}  {', '.join(word for word in words if word)}{marks}"
        if isinstance(event, ev.LayDownStarted):
            started[half] = event.at_utc
        if isinstance(event, ev.LayDownStarted | ev.WindowRetimed):
            window = windows[half] = event.window
            yield (
                f"          window {window.earliest_s:g} / {window.best_s:g} s after covered, "
                f"{window.latest_s:g} s after started ({window.basis})"
            )


def _against(window: ev.Window, seconds: float, *, late: bool) -> str:
    """The wipe beside what was predicted for it."""
    off_s = seconds - window.best_s
    where = "before the earliest" if seconds < window.earliest_s else "in the window"
    where = "after the latest" if late else where
    side = "later" if off_s >= 0 else "sooner"
    return f" (best predicted {window.best_s:.0f} s, {abs(off_s):.0f} s {side}; {where})"
