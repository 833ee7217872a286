"""`bayhelper window`: the setting window of a product in some air, and its chart."""

from __future__ import annotations

import argparse
import json
from math import isfinite
from pathlib import Path

from bayhelper.decide.job.setting import describe, spans
from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import fold
from bayhelper.reckon.air import DEW_MARGIN_C, above_dew_point_c, dew_point_c
from bayhelper.reckon.cure import Air, outside, rates
from bayhelper.remember.history import History
from bayhelper.run.settings import data_folder
from bayhelper.sheets.products import load_product, load_products
from bayhelper.show.chart import Wipe, chart, clock
from bayhelper.show.panel_lines import effective
from bayhelper.terms.errors import RunError
from bayhelper.terms.events import TrialMade
from bayhelper.terms.product import Product

DEFAULT_PRODUCT = "demo_gloss"
"""The coating of the demo."""
SETTING = "setting."
"""What the keys of a sheet's sources begin with where they are about the window."""
TEMPS_C = (-30.0, 120.0)
"""Outside of these a temperature is a slip of the hand: no panel is coated there (chosen)."""


def run(options: argparse.Namespace) -> int:
    """Print the window, and draw the chart where one is wanted."""
    product = _product(options.product)
    air = Air(options.air_c, options.humidity, options.panel_c)
    for name, value in (("--air-c", air.air_c), ("--panel-c", air.panel_c)):
        if value is not None and not (isfinite(value) and TEMPS_C[0] <= value <= TEMPS_C[1]):
            raise RunError(
                f"{name} must be from {TEMPS_C[0]:g} to {TEMPS_C[1]:g} degrees Celsius, "
                f"but is {value:g}. Read the thermometer again."
            )
    fields = _fields(product, air)
    if options.chart is not None:
        job = _job(options)
        drawn = chart(product, air, _wipes(job) if job else ())
        try:
            options.chart.write_text(drawn, encoding="utf-8")
        except OSError as error:
            raise RunError(f"The chart cannot be written: {error}. Name another file.") from error
        fields["chart"] = str(options.chart)
    print(json.dumps(fields) if options.json else _words(product, air, fields))
    return 0


def _product(name: str) -> Product:
    """By id, by name, or from a TOML file."""
    if name.endswith(".toml"):
        product = load_product(name)
    else:
        found = load_products()
        coatings = {p.id: p for p in found.values() if p.setting is not None}
        matches = [p for p in found.values() if name.lower() in (p.id, p.name.lower())]
        if not matches:
            raise RunError(
                f"There is no product '{name}'. Coatings are {', '.join(sorted(coatings))}; or "
                "give the path of a TOML sheet."
            )
        product = matches[0]
    if product.setting is None:
        raise RunError(f"'{product.id}' has no setting window. Choose a coating.")
    return product


def _fields(product: Product, air: Air) -> dict[str, object]:
    setting = product.setting
    if setting is None:
        raise RunError(f"'{product.id}' has no setting window. Choose a coating.")
    speed = rates(product, air)
    return {
        "product": product.id,
        "earliest_s": round(setting.earliest_s / speed.earliest, 1),
        "best_s": round(setting.best_s / speed.best, 1),
        "latest_s": round(setting.latest_s / speed.best, 1),
        "dew_point_c": round(dew_point_c(air.air_c, air.rh_percent), 1),
        "water_g_m3": round(air.water_g_m3, 2),
        "margin_c": round(above_dew_point_c(air.surface_c, air.air_c, air.rh_percent), 1),
        "outside": list(outside(product, air)),
        "basis": describe(product, air),
        "sources": _sources(product),
    }


def _sources(product: Product) -> dict[str, str]:
    """Where each figure of the window comes from."""
    found = product.provenance.items()
    return {key.removeprefix(SETTING): text for key, text in found if key.startswith(SETTING)}


def _words(product: Product, air: Air, fields: dict[str, object]) -> str:
    def time(name: str) -> str:
        return clock(float(str(fields[name])))

    lines = [
        f"{product.name} at {air.air_c:g} °C, {air.rh_percent:g} %",
        f"earliest  {time('earliest_s')}  after covered",
        f"best      {time('best_s')}  after covered",
        f"latest    {time('latest_s')}  after started",
        f"dew point {fields['dew_point_c']} °C, water {fields['water_g_m3']} g/m³",
        f"surface   {fields['margin_c']} °C above the dew point",
        f"basis     {fields['basis']}",
    ]
    if float(str(fields["margin_c"])) < DEW_MARGIN_C:
        lines.append("CAUTION   less than 3 °C above the dew point: water may settle on the panel")
    if fields["outside"]:
        lines.append("CAUTION   outside the sheet's range: the figures are less sure")
    if "chart" in fields:
        lines.append(f"chart     {fields['chart']}")
    lines += [f"source    {name}: {text}" for name, text in _sources(product).items()]
    lines.append("The product's own data sheet and a trial wipe have the last word.")
    return "\n".join(lines)


def _job(options: argparse.Namespace) -> Job | None:
    """The job whose wipes are drawn: the one named, or the last there is."""
    folder: Path = data_folder(options.data)
    if options.job is None and not folder.exists():
        return None
    with History.open(folder) as history:
        names = history.jobs()
        name = options.job or (names[-1] if names else None)
        return fold(history.decisions(name)) if name else None


def _wipes(job: Job) -> tuple[Wipe, ...]:
    found = []
    for event in effective(job):
        if not isinstance(event, TrialMade):
            continue
        known = [span for span in spans(job, event.panel) if span.since_utc <= event.at_utc]
        if known:
            found.append(Wipe(known[-1].air, event.result, event.covered_for_s))
    return tuple(found)
