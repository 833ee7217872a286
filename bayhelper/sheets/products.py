"""Product sheets from TOML."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

from bayhelper.sheets.reading import Sheet, read_sheet, read_table, shipped_ids
from bayhelper.terms.errors import SheetError
from bayhelper.terms.product import Dwell, Product, Recoat, SettingTimes

MOST_UNCERTAINTY = 0.45
"""Of a sheet: above it, what is not known would outrun the rate itself."""
MOST_EXPONENT = 1.0
"""Of water: a film sets at most in step with the water that reaches it (from memory)."""
FIGURES = {"setting": SettingTimes, "recoat": Recoat, "dwell": Dwell}
"""Tables of figures, each of which may have a table of its own that says where they come from."""


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
    return product_of(read_sheet("products", name))


def product_of(sheet: Sheet) -> Product:
    """The product that a sheet holds. Raises SheetError as `load_products`."""
    content = dict(sheet.content)
    sources: dict[str, str] = {}
    for table, kind in FIGURES.items():
        figures = content.get(table)
        if isinstance(figures, dict) and "provenance" in figures:
            content[table] = {key: figures[key] for key in figures if key != "provenance"}
            where = f"{sheet.where} [{table}] [provenance]"
            known = {field.name for field in fields(kind)}
            sources |= _sources(figures["provenance"], table, known, where)
    product = Sheet(sheet.where, content).read(Product)
    _check(product, sheet.where)
    return replace(product, provenance=product.provenance | sources)


def _sources(content: object, table: str, known: set[str], where: str) -> dict[str, str]:
    """Where each figure of a table comes from, by names such as 'setting.best_s'."""
    texts = read_table(content, dict[str, str], where)
    if unknown := sorted(set(texts) - known):
        raise SheetError(
            f"{where}: '{unknown[0]}' is no figure of [{table}], which has "
            f"{', '.join(sorted(known))}. Correct its spelling."
        )
    return {f"{table}.{key}": text for key, text in texts.items()}


def _check(product: Product, where: str) -> None:
    """Rules between the fields of a product."""
    if product.kind == "coating" and product.setting is None:
        raise SheetError(
            f"{where}: a coating needs a [setting] table with its window. Add it from the data "
            "sheet of the product."
        )
    if product.setting is not None:
        _check_setting(product.setting, f"{where} [setting]")
    if product.recoat is not None:
        low, high = product.recoat.min_s, product.recoat.max_s
        _check_order(("min_s", low), ("max_s", high), f"{where} [recoat]")
    if product.dwell is not None:
        low, high = product.dwell.rinse_s, product.dwell.max_s
        _check_order(("rinse_s", low), ("max_s", high), f"{where} [dwell]")
    for key, span in (("air_c", product.air_c), ("air_rh_percent", product.air_rh_percent)):
        if span is not None and not span[0] < span[1]:
            raise SheetError(
                f"{where}: '{key}' must be two rising numbers such as [10, 30], not {list(span)}. "
                "Put the lower one first."
            )


def _check_order(first: tuple[str, float], second: tuple[str, float], where: str) -> None:
    if first[1] > second[1]:
        raise SheetError(
            f"{where}: '{first[0]}' must not exceed '{second[0]}', but {first[1]:g} > "
            f"{second[1]:g}. Correct one of them."
        )


def _check_setting(setting: SettingTimes, where: str) -> None:
    if not setting.earliest_s <= setting.best_s <= setting.latest_s:
        raise SheetError(
            f"{where}: earliest, best and latest must rise, but are {setting.earliest_s:g}, "
            f"{setting.best_s:g} and {setting.latest_s:g} s. Correct them from the data sheet."
        )
    if setting.uncertainty > MOST_UNCERTAINTY:
        raise SheetError(
            f"{where}: 'uncertainty' must be above 0 and at most {MOST_UNCERTAINTY:g}, but "
            f"is {setting.uncertainty:g}. With more, colder air could open a panel sooner: find "
            "the window by trial wipes, and write what they gave."
        )
    if setting.water_exponent > MOST_EXPONENT:
        raise SheetError(
            f"{where}: 'water_exponent' must be above 0 and at most {MOST_EXPONENT:g}, "
            f"but is {setting.water_exponent:g}. Leave it out where it is not known."
        )
