"""Distributions on a grid: shares below a value, and values below which a share lies."""

from __future__ import annotations

from functools import cache
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Any shape."""


def quantile(values: Floats, mass: Floats, share: float) -> float:
    """The value below which that share of the mass lies, between grid points by a straight line.

    `values` and `mass` have shape (n,); the values need not be in order.
    """
    order = np.argsort(values, kind="stable")
    summed = np.cumsum(mass[order])
    middle = (summed - 0.5 * mass[order]) / summed[-1]
    return float(np.interp(share, middle, values[order]))


def marginal(mass: Floats, axis: int) -> Floats:
    """The mass along one of three axes, summed over the others; shape (n,)."""
    others = tuple(a for a in range(3) if a != axis)
    return np.asarray(mass.sum(axis=others), dtype=np.float64)


def normal_cdf(z: Floats) -> Floats:
    """Share of the standard normal distribution below each z, by a table of 2401 values."""
    return np.asarray(np.interp(z, *_cdf_table()), dtype=np.float64)


@cache
def _cdf_table() -> tuple[Floats, Floats]:
    z = np.linspace(-6, 6, 2401)
    return z, np.array([0.5 * (1 + erf(x / sqrt(2))) for x in z])
