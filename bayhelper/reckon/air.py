"""Water in the air, over 5 to 45 degrees Celsius where people work."""

from __future__ import annotations

from math import exp, log

from bayhelper.terms.errors import ReckonError

A_HPA, B, C_C = 6.112, 17.62, 243.12
"""Magnus form over water: coefficients of WMO-No. 8 (Guide to Instruments and Methods of
Observation)."""
GAS_J_KG_K = 461.5
"""Specific gas constant of water vapour, from memory; J/(kg K)."""
DEW_MARGIN_C = 3.0
"""A surface should be at least this much above the dew point (ISO 8502-4 guidance, from memory)."""


def vapour_pressure_hpa(temp_c: float, rh_percent: float = 100.0) -> float:
    """Pressure of water vapour, hPa; at saturation when no humidity is given.

    Raises ReckonError for a humidity that is not above 0 and at most 100.
    """
    if not 0 < rh_percent <= 100:
        raise ReckonError(
            f"Relative humidity must be above 0 and at most 100 percent, but is {rh_percent:g}. "
            "Read the hygrometer again."
        )
    return rh_percent / 100 * A_HPA * exp(B * temp_c / (C_C + temp_c))


def dew_point_c(temp_c: float, rh_percent: float) -> float:
    """Temperature at which this air would be saturated, degrees Celsius (Magnus, inverted).

    Raises ReckonError for a humidity that is not above 0 and at most 100.
    """
    ratio = log(vapour_pressure_hpa(temp_c, rh_percent) / A_HPA)
    return C_C * ratio / (B - ratio)


def water_g_m3(temp_c: float, rh_percent: float) -> float:
    """Water in the air, grams per cubic metre (ideal gas).

    Raises ReckonError for a humidity that is not above 0 and at most 100.
    """
    pressure_pa = 100 * vapour_pressure_hpa(temp_c, rh_percent)
    return 1000 * pressure_pa / (GAS_J_KG_K * (temp_c + 273.15))


def above_dew_point_c(panel_c: float, air_c: float, rh_percent: float) -> float:
    """How far a surface is above the dew point of the air, kelvin; negative when it sweats.

    Raises ReckonError for a humidity that is not above 0 and at most 100.
    """
    return panel_c - dew_point_c(air_c, rh_percent)
