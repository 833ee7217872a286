"""The setting window in force for a panel: sheet, air, and what the day's trials said.

Everything reckoned here is kept in events, so that replay reckons nothing.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from math import log

from bayhelper.decide.job.clocks import covered_at_utc
from bayhelper.decide.job.state import Coat, Job, Part
from bayhelper.reckon.calibration import Day, TrialReport, calibrate
from bayhelper.reckon.cure import Air, AirSpan, cure_s, due, outside, rate, spread
from bayhelper.reckon.window import nominal_window
from bayhelper.terms import events as ev
from bayhelper.terms.product import Product, SettingTimes

RETIME_SHARE = 0.10
"""Open clocks are set anew when the best time has moved by more than this share of it."""


def spans(job: Job, panel: str) -> tuple[AirSpan, ...]:
    """The airs of the job as far as temperature and humidity were both known; rising in time."""
    found: dict[datetime, AirSpan] = {}
    for reading in job.readings:
        if reading.air_c is None or reading.rh_percent is None:
            continue
        panel_c = reading.panel_c.get(panel, reading.panel_c.get(""))
        air = Air(reading.air_c, reading.rh_percent, panel_c)
        found[reading.at_utc] = AirSpan(reading.at_utc, air)
    return tuple(found[at_utc] for at_utc in sorted(found))


def day(
    job: Job, product: Product, setting: SettingTimes, air: Air | None, at_utc: datetime
) -> Day:
    """What the trial wipes of this job say about today's window in this air."""
    reports = [
        TrialReport(
            result=trial.result,
            cure_s=trial.cure_s,
            from_first_s=trial.from_first_s,
            rate=trial.rate,
            age_s=max(0.0, (at_utc - trial.at_utc).total_seconds()),
        )
        for trial in job.trial_log
        if trial.cure_s > 0
    ]
    if air is None:
        return calibrate(setting, reports)
    return calibrate(setting, reports, rate=rate(setting, air), spread=spread(product, air))


def window_now(job: Job, panel: str, at_utc: datetime) -> ev.Window | None:
    """The window of a panel that is begun in the present air; None without a coating that sets."""
    product = job.product("coating")
    if product is None:
        return None
    part = Part(panel=panel, coat=Coat(started_at_utc=at_utc, covered_at_utc=at_utc))
    known = spans(job, panel)
    return _window(job, product, part, at_utc, known[-1:])


def window_of(job: Job, part: Part, at_utc: datetime) -> ev.Window | None:
    """The window of an open part as all the airs that it saw make it."""
    product = job.product("coating")
    if product is None or part.coat.started_at_utc is None:
        return None
    return _window(job, product, part, at_utc, spans(job, part.panel))


def retimed(job: Job, at_utc: datetime) -> tuple[ev.WindowRetimed, ...]:
    """Open parts whose best or latest time moved by more than RETIME_SHARE, with new windows."""
    found = []
    for part in job.open_parts():
        window = window_of(job, part, at_utc)
        if window is None or part.coat.window is None or not _moved(part.coat.window, window):
            continue
        found.append(
            ev.WindowRetimed(at_utc=at_utc, panel=part.panel, half=part.half, window=window)
        )
    return tuple(found)


def trial_cure(job: Job, part: Part, at_utc: datetime) -> tuple[float, float, float]:
    """Cure from the last and from the first stroke up to now, s of reference air; and mean rate."""
    product = job.product("coating")
    covered = part.coat.covered_at_utc or at_utc
    started = part.coat.started_at_utc or covered
    plain_s = (at_utc - covered).total_seconds()
    first_s = (at_utc - started).total_seconds()
    known = spans(job, part.panel)
    if product is None or product.setting is None or not known:
        return plain_s, first_s, 1.0
    cured_s = cure_s(product.setting, known, covered, at_utc)
    mean = cured_s / plain_s if plain_s > 0 else rate(product.setting, known[-1].air)
    return cured_s, cure_s(product.setting, known, started, at_utc), mean


def _moved(old: ev.Window, new: ev.Window) -> bool:
    pairs = ((old.best_s, new.best_s), (old.latest_s, new.latest_s))
    return any(abs(log(after / before)) > log(1 + RETIME_SHARE) for before, after in pairs)


def _window(
    job: Job, product: Product, part: Part, at_utc: datetime, known: tuple[AirSpan, ...]
) -> ev.Window | None:
    setting, nominal = product.setting, nominal_window(product)
    covered, started = covered_at_utc(part), part.coat.started_at_utc
    if setting is None or nominal is None or covered is None or started is None:
        return nominal
    air = known[-1].air if known else None
    today = day(job, product, setting, air, at_utc)
    if air is None and not today.reports:
        return nominal
    reference = AirSpan(started, Air(setting.reference_c, setting.reference_rh_percent))
    found = due(product, known or (reference,), started, covered, today.factors)
    return replace(
        nominal,
        earliest_s=_seconds(found.earliest_utc - covered),
        best_s=_seconds(found.best_utc - covered),
        latest_s=_seconds(found.latest_utc - started),
        basis=_basis(product, air, len({span.air for span in known}), today),
    )


def _seconds(time: timedelta) -> float:
    return round(time.total_seconds(), 1)


def describe(product: Product, air: Air | None) -> str:
    """How a window was found, for people: sheet, air, panel, and what lies outside the sheet."""
    if air is None:
        return "sheet figure, air not known, the sheet's taken"
    words = ["sheet figure", f"air {air.air_c:g} degrees {air.rh_percent:g} percent"]
    if air.panel_c is None:
        words.append("panel temperature not known, the air's taken")
    else:
        words.append(f"panel {air.panel_c:g} degrees")
    words += [f"outside the sheet: {what}" for what in outside(product, air)]
    return ", ".join(words)


def _basis(product: Product, air: Air | None, airs: int, today: Day) -> str:
    words = [describe(product, air)]
    if airs > 1:
        words.append("cure added up over several airs")
    if today.reports:
        words.append(f"day's factor {today.factors.best:.2f} from {today.reports} trials")
    if today.contradictory:
        words.append("trials disagree")
    return ", ".join(words)
