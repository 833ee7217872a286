"""Car bodies, plans and product sheets."""

from dataclasses import fields

import pytest

from bayhelper.sheets.bodies import load_body, mirrored
from bayhelper.sheets.plans import load_plan
from bayhelper.sheets.products import load_product, load_products
from bayhelper.sheets.reading import shipped_ids
from bayhelper.terms.errors import SheetError
from tests.known import known


@pytest.mark.parametrize("name", shipped_ids("bodies"))
def test_bodies_are_cars(name):
    body = load_body(name)
    ids = {panel.id for panel in body.panels}
    assert {mirrored(panel) for panel in ids} == ids
    assert len({seam.id for seam in body.seams}) == len(body.seams)


@pytest.mark.parametrize("name", shipped_ids("plans"))
def test_plans_name_products_that_exist(name):
    plan = load_plan(name)
    products = load_products()
    assert set(plan.products.values()) <= set(products)
    for stage in ("coating", "panel_wipe", "wash"):
        assert plan.cautions[stage]


def test_the_demo_coating_sets_as_common_practice_has_it():
    """Common practice, no source: about five minutes on a fair day, from two to eight in all."""
    setting = known(load_product("demo_gloss").setting)
    assert setting.best_s == 300
    assert 120 <= setting.earliest_s < setting.best_s < setting.latest_s <= 480


@pytest.mark.parametrize("name", shipped_ids("products"))
def test_every_figure_of_a_shipped_product_says_where_it_comes_from(name):
    product = load_product(name)
    if product.setting:
        wanted = {f"setting.{figure.name}" for figure in fields(product.setting)}
        assert wanted <= set(product.provenance)
    for figure in ("recoat", "dwell", "fresh_s", "sections_per_clean", "residue_s", "look_again_s"):
        assert getattr(product, figure) is None or product.provenance[figure]


BODY = """
id = "x"
name = "x"
[[panel]]
part = "bonnet"
area_m2 = 1.5
material = "steel"
height = "upper"
[[panel]]
part = "wing"
sided = true
area_m2 = 0.5
material = "steel"
height = "upper"
[seams]
sided = [["bonnet", "wing"]]
"""


def write(tmp_path, text):
    file = tmp_path / "x.toml"
    file.write_text(text)
    return str(file)


def test_a_body_of_ones_own(tmp_path):
    assert len(load_body(write(tmp_path, BODY)).seams) == 2


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("area_m2 = 1.5", "area_m2 = 150", "square metres"),
        ("area_m2 = 1.5", "", "'area_m2' is missing"),
        ("area_m2 = 1.5", 'area_m2 = "big"', "must be a number"),
        ("area_m2 = 1.5", "area_m2 = -1", "above 0"),
        ('"steel"', '"gold"', "one of steel"),
        ('part = "bonnet"', 'part = "bonnet"\ncolour = "red"', "unknown key 'colour'"),
        ('"bonnet", "wing"', '"bonnet", "roof"', "names no sided panel"),
        ('sided = [["bonnet", "wing"]]', "", "no seam joins"),
        ('sided = [["bonnet", "wing"]]', 'middle = [["bonnet", "left_wing"]]', "no twin"),
        ('[["bonnet", "wing"]]', '[["bonnet"]]', "pair of texts"),
        ('[["bonnet", "wing"]]', '[["bonnet","wing"],["wing","bonnet"]]', "named twice"),
        ("sided = true", "sided = 1", "true or false"),
        ("id =", "id ", "not valid TOML"),
    ],
)
def test_what_is_wrong_with_a_body_is_said(tmp_path, old, new, said):
    with pytest.raises(SheetError, match=said):
        load_body(write(tmp_path, BODY.replace(old, new, 1)))


def test_unknown_sheets_name_the_known(tmp_path):
    with pytest.raises(SheetError, match="saloon"):
        load_body("spaceship")
    with pytest.raises(SheetError, match="There is no file"):
        load_body("nowhere.toml")
    with pytest.raises(SheetError, match="in that order"):
        load_plan(write(tmp_path, 'id="x"\nname="x"\nstages=["wash","intake"]\nlayers=1'))


COATING = """
id = "x"
name = "x"
kind = "coating"
[setting]
earliest_s = 100
best_s = 200
latest_s = 300
reference_c = 21
reference_rh_percent = 50
"""


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("best_s = 200", "best_s = 50", "must rise"),
        ("[setting]", "[recoat]\nmin_s = 9\nmax_s = 3\n[setting]", "must not exceed"),
        ("reference_c = 21", "reference_c = 21\nwater_exponent = 2", "at most 1"),
        ("reference_c = 21", "reference_c = 21\nuncertainty = 0.5", "at most 0.45"),
        ("[setting]", '[setting.provenance]\nbest = "x"\n[setting]', "no figure of"),
        ('kind = "coating"', 'kind = "coating"\nair_c = [30, 10]', "rising numbers"),
        ('kind = "coating"', 'kind = "coating"\ncure = [1]', "entry 1 of 'cure' must be a text"),
        ('kind = "coating"', 'kind = "coating"\nsections_per_clean = 0', "1 or more"),
    ],
)
def test_what_is_wrong_with_a_product_is_said(tmp_path, old, new, said):
    with pytest.raises(SheetError, match=said):
        load_product(write(tmp_path, COATING.replace(old, new, 1)))


def test_a_coating_needs_its_window(tmp_path):
    with pytest.raises(SheetError, match="needs a \\[setting\\]"):
        load_product(write(tmp_path, 'id="x"\nname="x"\nkind="coating"'))
