"""How a network is judged."""

from __future__ import annotations

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from training.acoustics import OUTPUTS, Mfcc  # noqa: E402
from training.scoring import wrong_phones  # noqa: E402


class Teller(torch.nn.Module):  # type: ignore[name-defined]
    """Tells the same outputs whatever it is given."""

    def __init__(self, told: list[int]) -> None:
        super().__init__()
        self._told = torch.nn.functional.one_hot(torch.tensor([told]), OUTPUTS).float()

    def forward(self, features):
        return self._told


@pytest.mark.parametrize(
    ("told", "said", "wrong"),
    [
        ([0, 3, 3, 0, 5, 0], [3, 5], 0),
        ([3, 0, 3, 5], [3, 3, 5], 0),
        ([3, 3, 5], [3, 3, 5], 1),
        ([0, 0, 0], [7, 8], 2),
        ([7, 9, 8], [7, 8], 1),
    ],
)
def test_blanks_and_repeats_are_no_phones(told: list[int], said: list[int], wrong: int) -> None:
    silence = np.zeros(16_000, np.int16)
    assert wrong_phones(Teller(told), Mfcc(), silence, said) == wrong
