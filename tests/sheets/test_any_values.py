"""Whatever stands in a sheet, the loader says what is wrong with it and never breaks."""

import datetime
import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bayhelper.run.settings import Settings, load_settings
from bayhelper.sheets.bodies import body_of, load_body
from bayhelper.sheets.plans import load_plan, plan_of
from bayhelper.sheets.products import load_product, load_products, product_of
from bayhelper.sheets.reading import Sheet, read_sheet
from bayhelper.terms.errors import RunError, SheetError

LOADERS = {
    "bodies": (body_of, load_body, ("saloon", "van")),
    "plans": (plan_of, load_plan, ("one_step", "coat_only")),
    "products": (product_of, load_product, ("demo_gloss", "demo_iron")),
}
UNSHOWABLE = 16**5000
"""Python refuses to write so many digits, but reads them in hexadecimal."""
ODD: tuple[object, ...] = (
    math.nan, math.inf, -math.inf, 10**400, -(10**400), UNSHOWABLE, 0, -1, 1e300, True, "", [], {},
    [[]], [{}], {"": {}}, "\x00", datetime.date(2026, 3, 2), datetime.time(9),
    datetime.datetime(2026, 3, 2, tzinfo=datetime.UTC),
)  # fmt: skip
"""Values of TOML that are easily forgotten."""
VALUES = st.recursive(
    st.sampled_from([odd for odd in ODD if odd is not UNSHOWABLE])
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=6,
)


def ways(value, way=()):
    """Every place inside plain data."""
    yield way
    inner = value.items() if isinstance(value, dict) else ()
    for key, item in enumerate(value) if isinstance(value, list) else inner:
        yield from ways(item, (*way, key))


def changed(value, way, new):
    """A copy with something else in one place."""
    if not way:
        return new
    copy = dict(value) if isinstance(value, dict) else list(value)
    copy[way[0]] = changed(copy[way[0]], way[1:], new)
    return copy


@pytest.mark.parametrize("folder", LOADERS)
@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(data=st.data())
def test_a_sheet_with_anything_in_one_place_is_read_or_refused(folder, data):
    load, _, names = LOADERS[folder]
    content = read_sheet(folder, data.draw(st.sampled_from(names))).content
    way = data.draw(st.sampled_from([way for way in ways(dict(content)) if way]))
    try:
        load(Sheet("x.toml", changed(dict(content), way, data.draw(VALUES))))
    except SheetError as error:
        assert str(error).startswith("x.toml") and str(error).endswith(".")


@pytest.mark.parametrize("folder", LOADERS)
@settings(max_examples=50, deadline=None)
@given(content=st.dictionaries(st.text(max_size=8), VALUES, max_size=4))
def test_a_sheet_of_anything_is_refused(folder, content):
    with pytest.raises(SheetError, match=r"^x\.toml"):
        LOADERS[folder][0](Sheet("x.toml", content))


@pytest.mark.parametrize("folder", LOADERS)
@pytest.mark.parametrize("odd", ODD, ids=lambda odd: str(type(odd).__name__))
def test_every_key_refuses_or_takes_what_is_easily_forgotten(folder, odd):
    load, _, names = LOADERS[folder]
    content = dict(read_sheet(folder, names[0]).content)
    for way in ways(content):
        try:
            load(Sheet("x.toml", changed(content, way, odd))) if way else None
        except SheetError:
            continue


@pytest.mark.parametrize("folder", LOADERS)
@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(content=st.binary(max_size=40) | st.text(max_size=40).map(str.encode))
def test_a_file_of_any_bytes_is_refused(folder, content, tmp_path):
    file = tmp_path / "x.toml"
    file.write_bytes(content)
    with pytest.raises(SheetError, match=r"x\.toml"):
        LOADERS[folder][1](str(file))


@pytest.mark.parametrize("folder", LOADERS)
def test_a_folder_in_the_place_of_a_file_is_told(folder, tmp_path):
    (tmp_path / "x.toml").mkdir()
    with pytest.raises(SheetError, match=r"x\.toml: it is a folder"):
        LOADERS[folder][1](str(tmp_path / "x.toml"))
    with pytest.raises(SheetError, match="it is a folder"):
        load_products(tmp_path)


@pytest.mark.parametrize(
    ("folder", "old", "new", "said"),
    [
        ("bodies", None, {"panel": [1, 2]}, "entry 1 of 'panel' must be a table, not 1"),
        ("bodies", None, {"panel": {}}, "'panel' must be a list of tables"),
        ("bodies", None, {"panel": []}, r"needs \[\[panel\]\] tables"),
        ("bodies", None, {"seams": []}, "'seams' must be a table"),
        ("bodies", "panel", {"area_m2": math.nan}, "'area_m2' must be a number up to"),
        ("bodies", "panel", {"area_m2": 10**400}, "not as huge as this"),
        ("bodies", "panel", {"sections": UNSHOWABLE}, "'sections' must be at most 1000"),
        ("bodies", "panel", {"plan_m": [0, 0, math.inf, 1]}, "'plan_m' must be numbers between"),
        ("bodies", "panel", {"plan_m": [0, 0, math.nan, 1]}, "'plan_m' must be"),
        ("plans", None, {"layers": 0}, "'layers' must be 1 or more"),
        ("plans", None, {"layers": True}, "'layers' must be a whole number"),
        ("plans", None, {"stages": "wash"}, "'stages' must be a list of texts"),
        ("plans", None, {"coats": ["wheel"]}, "'coats' must be some of panel"),
        ("plans", None, {"cautions": {"wash": "wet"}}, r"\[cautions\]: 'wash' must be a list of"),
        ("plans", None, {"products": {"coating": 1}}, r"\[products\]: 'coating' must be a text"),
        ("products", None, {"setting": [1]}, "'setting' must be a table"),
        ("products", "setting", {"provenance": 1}, r"\[setting\] \[provenance\]: it must be a"),
        ("products", "setting", {"best_s": math.inf}, "'best_s' must be a number up to"),
        ("products", None, {"kind": "wax"}, "'kind' must be one of coating"),
        ("products", None, {"surfaces": ["wood"]}, "entry 1 of 'surfaces' must be one of paint"),
        ("products", None, {"air_c": [10, math.nan]}, "'air_c' must be"),
        ("products", None, {"air_c": 10}, "'air_c' must be two rising numbers"),
        ("products", None, {"keep": [{"rule": "dry"}]}, r"\[\[keep\]\] number 1: 'hours' is miss"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(folder, old, new, said):
    load, _, names = LOADERS[folder]
    content: dict[str, Any] = dict(read_sheet(folder, names[0]).content)
    if old == "panel":
        content["panel"] = [content["panel"][0] | new, *content["panel"][1:]]
    else:
        content = content | ({old: content[old] | new} if old else new)
    with pytest.raises(SheetError, match=said):
        load(Sheet("x.toml", content))


@settings(max_examples=150, deadline=None)
@given(key=st.sampled_from(list(Settings.__dataclass_fields__)), value=VALUES)
def test_a_setting_of_anything_is_taken_or_refused(key, value, tmp_path_factory):
    try:
        load_settings(tmp_path_factory.getbasetemp(), {}, **{key: value})
    except RunError as error:
        assert str(error).startswith("the command line: ")
