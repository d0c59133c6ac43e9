"""How far the model itself may be wrong about a change of force."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOST_AT_ONCE: Final = 3
"""Normal draws that a stroke's error is made from. [-]"""

DECADES_APART: Final = 2.0
"""Velocities that lie so many decades apart have errors of their own. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelUncertainty:
    r"""What the model gets wrong even where every figure of the damper is known.

    What it gets wrong about the force before and after alike cancels in the change, and has no part here.

    Parameters
    ----------
    of_the_change : standard deviation, as a share of the change that is predicted; common practice, no
        source. A shop's own record of predicted against measured takes its place. [-]

    Notes
    -----
    The change of the logarithm of force at a velocity v is multiplied by
    :math:`1 + \varepsilon\,(z_0 + z_1\cos\theta + z_2\sin\theta)/\sqrt2` with
    :math:`\theta = \pi\log_{10}(v)/2` and three normal draws for each stroke: an error as large at every
    velocity, that two velocities share by half when they lie a decade apart, and not at all at two.
    """

    of_the_change: float = 0.05

    @property
    def draws(self) -> int:
        """Normal draws that it takes: for two strokes."""
        return 2 * MOST_AT_ONCE

    def factors(self, velocities: Floats, normal: Floats) -> Floats:
        """What the change at each velocity is multiplied by (draws, velocities). [-]

        Parameters
        ----------
        velocities : none of them 0. [m/s]
        normal : draws of standard deviation 1 (draws, :attr:`draws`).
        """
        angle = math.pi / DECADES_APART * np.log10(np.abs(velocities))
        shape = np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)]) / math.sqrt(2)
        strokes = [(velocities > 0) * shape, (velocities < 0) * shape]
        return np.asarray(1 + self.of_the_change * (normal @ np.concatenate(strokes)))


NO_MODEL_UNCERTAINTY: Final = ModelUncertainty(of_the_change=0.0)
"""A model that is right once every figure is known."""
