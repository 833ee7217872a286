"""Surfaces so cold that water may settle on them."""

from __future__ import annotations

from bayhelper.decide.job.state import Job
from bayhelper.reckon.air import DEW_MARGIN_C, dew_point_c


def near_dew_point(job: Job) -> dict[str, float]:
    """Kelvins above the dew point of every surface that is too near to it."""
    if job.air_c is None or job.air_rh_percent is None:
        return {}
    dew_c = dew_point_c(job.air_c, job.air_rh_percent)
    margins = {panel: temp_c - dew_c for panel, temp_c in job.panel_c.items()}
    return {panel: margin_c for panel, margin_c in margins.items() if margin_c < DEW_MARGIN_C}
