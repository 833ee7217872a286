"""Air, surface temperatures, film readings, and what a surface is."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.acts.cautions import cautions
from bayhelper.decide.job.clocks import best_at_utc
from bayhelper.decide.job.finish import surface
from bayhelper.decide.job.fold import apply_events
from bayhelper.decide.job.setting import retimed
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.reckon.film import film
from bayhelper.terms import events as ev
from bayhelper.terms.choices import AirSource
from bayhelper.terms.effects import Effect
from bayhelper.terms.slots import FILM_UM, FLAG, HUMIDITY_PERCENT, PANEL, TEMP_C
from bayhelper.terms.subjects import surfaces as say

PLAUSIBLE_C = (-30.0, 120.0)
"""Air and panels in a bay lie between these; anything else was misheard or misread (chosen wide,
no source)."""
MOST_UM = 10_000.0
"""No gauge for paint reads more (common practice, no source)."""
UNREADABLE = frozenset({"plastic", "glass", "composite"})
"""Materials under which a gauge for metal reads nothing (common practice, no source)."""


def _plausible(temp_c: float) -> bool:
    return PLAUSIBLE_C[0] <= temp_c <= PLAUSIBLE_C[1]


def set_air_temp(asked: Asked) -> Outcome:
    """Air temperature, read back."""
    temp_c = TEMP_C.of(asked.command)
    if not _plausible(temp_c):
        return answers.answer(say.TempImpossibleRefusal())
    read = ev.AirTempRead(at_utc=asked.at_utc, temp_c=temp_c)
    outcome = answers.did((read,), say.AirReply(temp_c=temp_c))
    return _consequences(asked.job, outcome, asked.at_utc)


def set_humidity(asked: Asked) -> Outcome:
    """Relative humidity, read back; more than 100 percent is refused."""
    percent = HUMIDITY_PERCENT.of(asked.command)
    if not 0 < percent <= 100:
        return answers.answer(say.HumidityImpossibleRefusal())
    read = ev.HumidityRead(at_utc=asked.at_utc, humidity_percent=percent)
    outcome = answers.did((read,), say.HumidityReply(humidity_percent=percent))
    return _consequences(asked.job, outcome, asked.at_utc)


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
    temp_c: float,
    rh_percent: float,
    measured_at_utc: datetime,
    at_utc: datetime,
    source: AirSource,
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
    after = apply_events(job, outcome.events)
    moved = retimed(after, at_utc)
    read = outcome.events[0] if outcome.events else None
    panel = read.panel if isinstance(read, ev.PanelTempRead) else ""
    effects: list[Effect] = list(cautions(job, after, panel))
    if moved:
        after = apply_events(after, moved)
        parts = [after.part(event.panel, event.half) for event in moved]
        due = [(best, part) for part in parts if (best := best_at_utc(part)) is not None]
        first_utc, first = min(due, key=lambda item: (item[0], item[1].key))
        wipe_in_s = max(0.0, (first_utc - at_utc).total_seconds())
        effects.append(say.RetimedReply(panel=first.panel, half=first.half, wipe_in_s=wipe_in_s))
    return answers.also(answers.with_last(outcome, moved), *effects)


def set_panel_temp(asked: Asked) -> Outcome:
    """Surface temperature of one panel or of the car, read back."""
    temp_c = TEMP_C.of(asked.command)
    if not _plausible(temp_c):
        return answers.answer(say.TempImpossibleRefusal())
    read = ev.PanelTempRead(at_utc=asked.at_utc, panel=asked.panel, temp_c=temp_c)
    outcome = answers.did((read,), say.PanelTempReply(panel=asked.panel, temp_c=temp_c))
    return _consequences(asked.job, outcome, asked.at_utc)


def film_reading(asked: Asked) -> Outcome:
    """One gauge reading, read back with the mean when there are more."""
    job, panel, film_um = asked.job, asked.panel, FILM_UM.of(asked.command)
    known = job.body.panel(panel)
    if known and known.material in UNREADABLE:
        return answers.answer(say.NoReadingPossibleRefusal(panel=panel))
    if not 0 < film_um <= MOST_UM:
        return answers.answer(say.FilmImpossibleRefusal())
    read = ev.FilmRead(at_utc=asked.at_utc, panel=panel, film_um=film_um)
    summed = film((*job.films.get(panel, ()), film_um))
    told = say.FilmReply(
        panel=panel,
        film_um=film_um,
        mean_um=round(summed.mean_um) if summed else film_um,
        count=summed.count if summed else 1,
        wrapped=surface(job, panel) == "wrap",
    )
    return answers.did((read,), told)


def flag_panel(asked: Asked) -> Outcome:
    """What a panel is, so that it gets the gentlest work or none."""
    flag = FLAG.of(asked.command)
    flagged = ev.PanelFlagged(at_utc=asked.at_utc, panel=asked.panel, flag=flag)
    return answers.did((flagged,), say.FlaggedReply(panel=asked.panel, flag=flag))


ACTS = (
    Act(
        "set_air_temp",
        "Air temperature.",
        set_air_temp,
        needs=(TEMP_C,),
        taken_back="Air temperature",
    ),
    Act(
        "set_humidity",
        "Relative humidity.",
        set_humidity,
        needs=(HUMIDITY_PERCENT,),
        taken_back="Humidity",
    ),
    Act(
        "set_panel_temp",
        "Surface temperature.",
        set_panel_temp,
        needs=(TEMP_C,),
        may=(PANEL,),
        taken_back="Surface temperature",
    ),
    Act(
        "film_reading",
        "A film gauge reading.",
        film_reading,
        needs=(PANEL, FILM_UM),
        taken_back="Film reading",
    ),
    Act(
        "flag_panel",
        "Mark what a panel is.",
        flag_panel,
        needs=(PANEL, FLAG),
        taken_back="Flag",
    ),
)
"""What can be asked for about air, film and surfaces."""
