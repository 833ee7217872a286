"""The usual cautions of the work, as the record shows them."""

from __future__ import annotations

from bayhelper.decide.job.state import Job

DEFER = (
    "Usual cautions, not all there are. The product's own data sheet, local codes and licensed",
    "practice decide.",
)
"""What stands above the cautions, so that nobody takes them for the whole."""
USUAL = (
    "Data sheets   within reach, for every product; nitrile gloves and eye protection",
    "Solvent       ventilate; a respirator where the sheet asks; no flame, hot lamp or spark near;",
    "              solvent-wet towels into a closed metal container",
    "Machine       loose clothing, cords and long hair away from a rotating pad; props and struts",
    "              under lids before working beneath them",
    "Wet floor     it slips; cords and water do not mix: residual-current protection",
    "Noise         hearing protection in loud work",
    "Alone         somebody knows when you work alone",
)
"""Cautions of the work itself (common practice, no source)."""


def cautions(job: Job) -> list[str]:
    """The usual cautions, then those of the product sheets of the job."""
    sheets = [
        f"{product.name}: {text}" for product in job.products.values() for text in product.cautions
    ]
    return [*DEFER, *USUAL, *sheets]
