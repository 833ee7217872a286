"""Air, film readings, flags, and removers that dwell."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import number_slot, text_slot
from bayhelper.decide.acts.cautions import cautions
from bayhelper.decide.job.clocks import best_at_utc
from bayhelper.decide.job.finish import surface
from bayhelper.decide.job.fold import apply_events
from bayhelper.decide.job.setting import retimed
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.reckon.film import film
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Say, Value
from bayhelper.terms.saying import Urgency

Source = Literal["said", "settings", "file"]
PLAUSIBLE_C = (-30.0, 120.0)
"""Air and panels in a bay lie between these; anything else was misheard or misread."""
MOST_UM = 10_000.0
"""No gauge for paint reads more."""


def _plausible(temp_c: float) -> bool:
    return PLAUSIBLE_C[0] <= temp_c <= PLAUSIBLE_C[1]


def set_air_temp(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Air temperature, read back."""
    temp_c = number_slot(command, "temp_c")
    if not _plausible(temp_c):
        return answers.refuse("temp_impossible", temp_c=temp_c)
    outcome = answers.did((ev.AirTempRead(at_utc=at_utc, temp_c=temp_c),), "air", temp_c=temp_c)
    return _consequences(job, outcome, at_utc)


def set_humidity(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Relative humidity, read back; more than 100 percent is refused."""
    percent = number_slot(command, "humidity_percent")
    if not 0 < percent <= 100:
        return answers.refuse("humidity_impossible", humidity_percent=percent)
    read = ev.HumidityRead(at_utc=at_utc, humidity_percent=percent)
    outcome = answers.did((read,), "humidity", humidity_percent=percent)
    return _consequences(job, outcome, at_utc)


def air_measured(
    job: Job, temp_c: float, rh_percent: float, measured_at_utc: datetime, at_utc: datetime
) -> Outcome:
    """A row of a logger: recorded without a word, unless clocks change or a caution is due.

    A row that is no newer than the last, or that cannot be, gives nothing.
    """
    last = min(job.measured_at_utc.values(), default=None)
    known = len(job.measured_at_utc) == 2 and last is not None and measured_at_utc <= last
    if known or not _plausible(temp_c) or not 0 < rh_percent <= 100:
        return Outcome()
    events = air_events(temp_c, rh_percent, measured_at_utc, at_utc, "file")
    return _consequences(job, Outcome(events), at_utc)


def air_events(
    temp_c: float, rh_percent: float, measured_at_utc: datetime, at_utc: datetime, source: Source
) -> tuple[ev.Event, ...]:
    """Both readings of one measurement."""
    return (
        ev.AirTempRead(
            at_utc=at_utc, temp_c=temp_c, measured_at_utc=measured_at_utc, source=source
        ),
        ev.HumidityRead(
            at_utc=at_utc,
            humidity_percent=rh_percent,
            measured_at_utc=measured_at_utc,
            source=source,
        ),
    )


def _consequences(job: Job, outcome: Outcome, at_utc: datetime) -> Outcome:
    """Open clocks set anew and said once; and the cautions that the reading brings."""
    after = apply_events(job, outcome.events, None)
    moved = retimed(after, at_utc)
    read = outcome.events[0] if outcome.events else None
    panel = read.panel if isinstance(read, ev.PanelTempRead) else ""
    effects = list(cautions(job, after, panel))
    if moved:
        after = apply_events(after, moved, None)
        parts = [after.part(event.panel, event.half) for event in moved]
        due = [(best, part) for part in parts if (best := best_at_utc(part)) is not None]
        first_utc, first = min(due, key=lambda item: (item[0], item[1].key))
        params: dict[str, Value] = {
            "panel": first.panel,
            "half": first.half,
            "wipe_in_s": max(0.0, (first_utc - at_utc).total_seconds()),
        }
        effects.append(Say("retimed", params, Urgency.SOFT))
    return answers.also(answers.with_last(outcome, moved), *effects)


def set_panel_temp(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Surface temperature of one panel or of the car, read back."""
    panel, temp_c = text_slot(command, "panel"), number_slot(command, "temp_c")
    if not _plausible(temp_c):
        return answers.refuse("temp_impossible", temp_c=temp_c)
    read = ev.PanelTempRead(at_utc=at_utc, panel=panel, temp_c=temp_c)
    outcome = answers.did((read,), "panel_temp", panel=panel, temp_c=temp_c)
    return _consequences(job, outcome, at_utc)


def film_reading(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """One gauge reading, read back with the mean when there are more."""
    panel, film_um = text_slot(command, "panel"), number_slot(command, "film_um")
    known = job.body.panel(panel)
    if known and known.material in ("plastic", "glass", "composite"):
        return answers.refuse("no_reading_possible", panel=panel)
    if not 0 < film_um <= MOST_UM:
        return answers.refuse("film_impossible", panel=panel, film_um=film_um)
    read = ev.FilmRead(at_utc=at_utc, panel=panel, film_um=film_um)
    summed = film((*job.films.get(panel, ()), film_um))
    mean_um = summed.mean_um if summed else film_um
    count = summed.count if summed else 1
    return answers.did(
        (read,),
        "film",
        panel=panel,
        film_um=film_um,
        mean_um=round(mean_um),
        count=count,
        wrapped=surface(job, panel) == "wrap",
    )


def flag_panel(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """What a panel is, so that it gets the gentlest work or none."""
    panel, flag = text_slot(command, "panel"), text_slot(command, "flag")
    return answers.did(
        (ev.PanelFlagged(at_utc=at_utc, panel=panel, flag=flag),),
        "flagged",
        panel=panel,
        flag=flag,
    )


def start_dwell(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """A remover is on: its clock runs."""
    agent = text_slot(command, "agent")
    product = job.product(agent)
    if product is None or product.dwell is None:
        return answers.refuse("no_dwell_sheet", agent=agent)
    started = ev.DwellStarted(
        at_utc=at_utc,
        agent=agent,
        product=product.id,
        rinse_s=product.dwell.rinse_s,
        max_s=product.dwell.max_s,
    )
    return answers.did((started,), "dwell_started", agent=agent, rinse_in_s=product.dwell.rinse_s)


def end_dwell(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Rinsed off; without a name, everything that dwells."""
    agent = text_slot(command, "agent")
    agents = [agent] if agent else sorted(job.dwells)
    ended = [ev.DwellEnded(at_utc=at_utc, agent=name) for name in agents if name in job.dwells]
    if not ended:
        return answers.refuse("not_dwelling", agent=agent)
    return answers.did(ended, "dwell_ended", agents=tuple(e.agent for e in ended))
