"""Product sheets from TOML."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import Any, cast, get_args

from bayhelper.sheets.reading import Table, read_sheet, shipped_ids
from bayhelper.terms.errors import SheetError
from bayhelper.terms.product import Dwell, Keep, Product, Recoat, Setting, Surface

KINDS = ("coating", "panel_wipe", "polish", "foam", "iron_remover", "tar_remover")


MOST_UNCERTAINTY = 0.45
"""Of a sheet: above it, what is not known would outrun the rate itself."""


def load_products(folder: Path | None = None) -> dict[str, Product]:
    """Every shipped product by id; those in `folder` (*.toml) come on top and may replace them.

    Raises SheetError naming the file, the key, what was wanted and what came.
    """
    products = {name: load_product(name) for name in shipped_ids("products")}
    for path in sorted(folder.glob("*.toml")) if folder else []:
        product = load_product(str(path))
        products[product.id] = product
    return products


def load_product(name: str) -> Product:
    """One product by id, or from a TOML file's path."""
    sheet = read_sheet("products", name)
    provenance = sheet.table("provenance")
    parts = {part: sheet.table(part) for part in FIGURES}
    sources = provenance.all_texts() if provenance else {}
    for part, table in parts.items():
        sources |= _sources(part, table)
    product = Product(
        id=sheet.text("id"),
        name=sheet.text("name"),
        kind=cast(Any, sheet.choice("kind", KINDS)),
        setting=_setting(parts["setting"]),
        recoat=_recoat(parts["recoat"]),
        dwell=_dwell(parts["dwell"]),
        fresh_s=sheet.maybe_number("fresh_s"),
        sections_per_clean=sheet.maybe_whole("sections_per_clean"),
        residue_s=sheet.maybe_number("residue_s"),
        rework_s=sheet.maybe_number("rework_s"),
        surfaces=_surfaces(sheet),
        panels_per_towel=sheet.maybe_whole("panels_per_towel"),
        look_again_s=sheet.maybe_number("look_again_s"),
        air_c=sheet.span("air_c"),
        air_rh_percent=sheet.span("air_rh_percent"),
        cure=sheet.texts("cure"),
        keep=tuple(_keep(table) for table in sheet.tables("keep")),
        cautions=sheet.texts("cautions"),
        provenance=sources,
    )
    sheet.finish()
    if product.kind == "coating" and product.setting is None:
        raise SheetError(f"{sheet.where}: a coating needs a [setting] table with its window.")
    return product


def _surfaces(sheet: Table) -> tuple[Surface, ...]:
    named = sheet.texts("surfaces")
    if unknown := [name for name in named if name not in get_args(Surface)]:
        raise SheetError(
            f"{sheet.where}: '{unknown[0]}' is no surface. Surfaces are "
            f"{', '.join(get_args(Surface))}."
        )
    return cast(tuple[Surface, ...], named)


FIGURES = {"setting": Setting, "recoat": Recoat, "dwell": Dwell}


def _sources(name: str, table: Table | None) -> dict[str, str]:
    """Where each figure of a table comes from, by names such as 'setting.best_s'."""
    own = table.table("provenance") if table else None
    if own is None:
        return {}
    figures = {field.name for field in fields(FIGURES[name])}
    texts = own.all_texts()
    if unknown := sorted(set(texts) - figures):
        raise SheetError(
            f"{own.where}: '{unknown[0]}' is no figure of [{name}], which has "
            f"{', '.join(sorted(figures))}. Correct its spelling."
        )
    return {f"{name}.{key}": text for key, text in texts.items()}


def _setting(table: Table | None) -> Setting | None:
    if table is None:
        return None
    setting = Setting(
        earliest_s=table.number("earliest_s"),
        best_s=table.number("best_s"),
        latest_s=table.number("latest_s"),
        reference_c=table.number("reference_c", above=-50),
        reference_rh_percent=table.number("reference_rh_percent"),
        water_exponent=table.number("water_exponent", 0.6),
        activation_j_mol=table.number("activation_j_mol", 40_000.0, above=-1),
        uncertainty=table.number("uncertainty", 0.25),
    )
    table.finish()
    if not setting.earliest_s <= setting.best_s <= setting.latest_s:
        raise SheetError(
            f"{table.where}: earliest, best and latest must rise, but are "
            f"{setting.earliest_s:g}, {setting.best_s:g} and {setting.latest_s:g} s."
        )
    if setting.uncertainty > MOST_UNCERTAINTY:
        raise SheetError(
            f"{table.where}: 'uncertainty' must be above 0 and at most {MOST_UNCERTAINTY:g}, but "
            f"is {setting.uncertainty:g}. With more, colder air could open a panel sooner: find "
            "the window by trial wipes, and write what they gave."
        )
    if setting.water_exponent > 1:
        raise SheetError(
            f"{table.where}: 'water_exponent' must be above 0 and at most 1, "
            f"but is {setting.water_exponent:g}."
        )
    return setting


def _rising(table: Table, low: str, high: str) -> tuple[float, float]:
    first, second = table.number(low), table.number(high)
    table.finish()
    if first > second:
        raise SheetError(
            f"{table.where}: '{low}' must not exceed '{high}', but {first:g} > {second:g}."
        )
    return first, second


def _keep(table: Table) -> Keep:
    keep = Keep(rule=table.text("rule"), hours=table.number("hours"))
    table.finish()
    return keep


def _recoat(table: Table | None) -> Recoat | None:
    if table is None:
        return None
    min_s, max_s = _rising(table, "min_s", "max_s")
    return Recoat(min_s=min_s, max_s=max_s)


def _dwell(table: Table | None) -> Dwell | None:
    if table is None:
        return None
    rinse_s, max_s = _rising(table, "rinse_s", "max_s")
    return Dwell(rinse_s=rinse_s, max_s=max_s)
