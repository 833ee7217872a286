"""Moist air, against a reference library and a published table."""

from __future__ import annotations

import psychrolib
import pytest

from bayhelper.reckon.air import (
    DEW_MARGIN_C,
    above_dew_point_c,
    dew_point_c,
    vapour_pressure_hpa,
    water_g_m3,
)
from bayhelper.terms.errors import ReckonError

DIN_4108_3 = {
    20: (1.9, 6.0, 9.3, 12.0, 14.4, 16.4, 18.3),
    25: (6.2, 10.5, 13.9, 16.7, 19.1, 21.3, 23.2),
    30: (10.5, 14.9, 18.4, 21.4, 23.9, 26.2, 28.2),
}
"""Dew point in degrees Celsius at 30 to 90 percent: table of DIN 4108-3, from memory."""
WORST = (0.04, 0.003, 0.003)
"""Worst difference: dew point in kelvin; vapour pressure and water as shares."""
COOLPROP = (
    (15, 40, 1.52, 5.154),
    (21, 50, 10.19, 9.206),
    (24, 60, 15.77, 13.123),
    (27, 75, 22.19, 19.408),
    (30, 85, 27.20, 25.925),
    (40, 30, 19.14, 15.406),
)
"""Air, humidity, dew point, water in g/m3: HAPropsSI of CoolProp 8.0.0 at 101 325 Pa, run once."""
WORKING_AIR = [(c, rh) for c in range(5, 46, 5) for rh in range(20, 101, 10)]


@pytest.fixture(autouse=True)
def metric() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(("temp_c", "row"), DIN_4108_3.items())
def test_dew_point_is_that_of_the_table(temp_c, row):
    for rh_percent, wanted_c in zip(range(30, 91, 10), row, strict=True):
        assert dew_point_c(temp_c, rh_percent) == pytest.approx(wanted_c, abs=0.11)


@pytest.mark.parametrize(("temp_c", "rh_percent"), WORKING_AIR)
def test_dew_point_is_that_of_the_handbook(temp_c, rh_percent):
    """psychrolib: ASHRAE Handbook, Fundamentals, chapter 1. Over ice below 0, so only above."""
    wanted_c = psychrolib.GetTDewPointFromRelHum(temp_c, rh_percent / 100)
    if wanted_c > 0:
        assert dew_point_c(temp_c, rh_percent) == pytest.approx(wanted_c, abs=0.1)


@pytest.mark.parametrize("temp_c", range(0, 41, 5))
def test_saturation_is_within_a_third_of_a_percent_of_the_handbook(temp_c):
    """psychrolib: ASHRAE Handbook, Fundamentals, chapter 1."""
    wanted_hpa = psychrolib.GetSatVapPres(temp_c + 0.01) / 100
    assert vapour_pressure_hpa(temp_c + 0.01) == pytest.approx(wanted_hpa, rel=0.0033)


@pytest.mark.parametrize(("temp_c", "kpa"), [(20, 2.339), (25, 3.169), (30, 4.246)])
def test_saturation_is_that_of_the_steam_tables(temp_c, kpa):
    assert vapour_pressure_hpa(temp_c) / 10 == pytest.approx(kpa, rel=0.0033)


@pytest.mark.parametrize(("temp_c", "rh_percent"), WORKING_AIR)
def test_water_in_the_air_is_that_of_the_handbook(temp_c, rh_percent):
    """Of psychrolib (ASHRAE): humidity ratio over the specific volume of moist air."""
    ratio = psychrolib.GetHumRatioFromRelHum(temp_c, rh_percent / 100, 101_325)
    wanted_g_m3 = 1000 * ratio / psychrolib.GetMoistAirVolume(temp_c, ratio, 101_325)
    assert water_g_m3(temp_c, rh_percent) == pytest.approx(wanted_g_m3, rel=0.01)


def test_wetter_or_warmer_air_never_holds_less():
    dew = [dew_point_c(21, rh) for rh in range(10, 101, 5)]
    water = [water_g_m3(c, 50) for c in range(5, 46)]
    assert dew == sorted(dew)
    assert water == sorted(water)
    assert dew_point_c(21, 100) == pytest.approx(21)


def test_three_degrees_above_the_dew_point_is_the_margin():
    """ISO 8502-4, guidance for coating steel, from memory."""
    assert DEW_MARGIN_C == 3.0
    assert above_dew_point_c(16.7 + 2.9, 25, 60) < DEW_MARGIN_C
    assert above_dew_point_c(16.7 + 3.2, 25, 60) > DEW_MARGIN_C
    assert above_dew_point_c(15, 25, 60) < 0


@pytest.mark.parametrize("rh_percent", [0, -5, 100.5, float("nan")])
def test_air_that_cannot_be_is_refused(rh_percent):
    with pytest.raises(ReckonError, match="humidity"):
        dew_point_c(20, rh_percent)
    with pytest.raises(ReckonError, match="humidity"):
        water_g_m3(20, rh_percent)


def test_the_worst_difference_from_the_handbook_over_5_to_45_degrees():
    """Of psychrolib (ASHRAE Handbook, Fundamentals, chapter 1), every degree and 5 percent.

    Dew points below 0 are left out: psychrolib then gives the frost point, over ice.
    """
    dew, pressure, water = [], [], []
    for temp_c in range(5, 46):
        for rh in range(20, 101, 5):
            wanted_c = psychrolib.GetTDewPointFromRelHum(temp_c, rh / 100)
            if wanted_c > 0:
                dew.append(abs(dew_point_c(temp_c, rh) - wanted_c))
            wanted_hpa = psychrolib.GetVapPresFromRelHum(temp_c, rh / 100) / 100
            pressure.append(abs(vapour_pressure_hpa(temp_c, rh) / wanted_hpa - 1))
            ratio = psychrolib.GetHumRatioFromRelHum(temp_c, rh / 100, 101_325)
            wanted_g = 1000 * ratio / psychrolib.GetMoistAirVolume(temp_c, ratio, 101_325)
            water.append(abs(water_g_m3(temp_c, rh) / wanted_g - 1))
    worst = (max(dew), max(pressure), max(water))
    assert all(0.5 * stated < w < stated for w, stated in zip(worst, WORST, strict=True)), worst


@pytest.mark.parametrize(("temp_c", "rh_percent", "dew_c", "water"), COOLPROP)
def test_a_second_library_agrees(temp_c, rh_percent, dew_c, water):
    """CoolProp reckons moist air as a real gas, which holds half a percent more water."""
    assert dew_point_c(temp_c, rh_percent) == pytest.approx(dew_c, abs=0.05)
    assert water_g_m3(temp_c, rh_percent) == pytest.approx(water, rel=0.008)
