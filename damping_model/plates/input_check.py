"""Whether packs and pressures are sound numbers, looked over in one compiled call."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.grid import APART
from damping_model.plates.jit import ENTRY

Floats = NDArray[np.float64]


class InputCheck(NamedTuple):
    """What packs and pressures are.

    Parameters
    ----------
    packs : whether all are sound numbers.
    face : place of the first pack that bends, -1 for none.
    pressures : whether all are sound numbers, and there is one at least.
    rising : whether they never fall.
    """

    packs: bool
    face: int
    pressures: bool
    rising: bool


@ENTRY
def check_input(packs: Floats, clamp: float, pressures: Floats) -> InputCheck:
    """Look over packs, as rows of radius, bending, stretching, shear, height, and pressures."""
    sound, face = packs.size > 0, -1
    for k in range(packs.shape[0]):
        for i in range(5):
            sound = sound and packs[k, i] >= 0 and (i == 3 or np.isfinite(packs[k, i]))
        if face < 0 and packs[k, 1] > 0 and packs[k, 0] > clamp + APART:
            face = k
    fit, rising = pressures.size > 0, True
    for j in range(pressures.size):
        fit = fit and 0 <= pressures[j] < np.inf
        rising = rising and (j == 0 or pressures[j] >= pressures[j - 1])
    return InputCheck(sound, face, fit, rising)
