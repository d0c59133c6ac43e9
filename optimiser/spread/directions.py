"""Directions in which a damper's unknown figures may lie, each independent of the others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from optimiser.spread.within_limits import within_limits
from optimiser.unknowns.knowledge import Knowledge
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution, Unknown
from optimiser.unknowns.varied import Draws

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Directions:
    """What is known of the unknown figures, as independent steps of standard deviation 1.

    Without a fit each direction is one figure. What a fit has coupled moves together, along the principal
    axes of its covariance; a figure between limits keeps to them there too.

    Parameters
    ----------
    unknowns : the figures.
    mean : of their draws (unknowns,). [-]
    axes : draws of all figures for a step of 1 in each direction (directions, unknowns). [-]
    even : whether a direction lies evenly between limits; it is normal otherwise (directions,).
    limited : places of the figures with limits that a fit has coupled.
    """

    unknowns: tuple[Unknown, ...]
    mean: Floats
    axes: Floats
    even: NDArray[np.bool_]
    limited: tuple[int, ...] = ()

    @classmethod
    def of(cls, known: Knowledge) -> Directions:
        """The directions of what is known."""
        count = len(known.unknowns)
        axes = np.eye(count)
        alone = np.array(
            [known.mean[k] == 0 and np.array_equal(known.covariance[k], axes[k]) for k in range(count)],
            dtype=bool,
        )
        coupled = np.flatnonzero(~alone)
        if coupled.size:
            values, vectors = np.linalg.eigh(known.covariance[np.ix_(coupled, coupled)])
            axes[np.ix_(coupled, coupled)] = (vectors * np.sqrt(np.maximum(values, 0.0))).T
        even = np.array([one.distribution is Distribution.RECTANGULAR for one in known.unknowns], bool)
        return cls(
            unknowns=known.unknowns,
            mean=known.mean,
            axes=axes,
            even=alone & even,
            limited=tuple(np.flatnonzero(~alone & even).tolist()),
        )

    def __len__(self) -> int:
        """How many."""
        return int(self.axes.shape[0])

    @property
    def moved_most(self) -> tuple[Unknown, ...]:
        """For each direction the figure that it moves most."""
        return tuple(self.unknowns[int(np.abs(axis).argmax())] for axis in self.axes)

    def draws(self, steps: Mapping[int, float]) -> Draws:
        """The unknown figures with steps in some directions, and none in the others. [-]"""
        found = self.mean.copy()
        for direction, step in steps.items():
            found = found + step * self.axes[direction]
        return dict(zip(self.unknowns, found.tolist(), strict=True))

    def sample(self, count: int, rng: np.random.Generator, *, further: int = 0) -> Floats:
        """Steps in every direction, and further normal draws (count, directions + further). [-]

        A Latin hypercube: of as many slices of equal chance as there are draws, each has one in every
        direction, so that what single directions do is averaged nearly without noise.

        References
        ----------
        .. [1] M. D. McKay, R. J. Beckman and W. J. Conover, "A comparison of three methods for selecting
           values of input variables in the analysis of output from a computer code", Technometrics 21 (1979)
           239-245.
        """
        wide = len(self) + further
        slices = rng.permuted(np.tile(np.arange(count), (wide, 1)), axis=1).T
        share = (slices + rng.random((count, wide))) / count
        even = np.append(self.even, np.zeros(further, bool))
        found = np.where(even, RECTANGULAR_END * (2 * share - 1), ndtri(share))
        if self.limited:
            found[:, : len(self)] = self._within_limits(found[:, : len(self)], rng)
        return found

    def _within_limits(self, steps: Floats, rng: np.random.Generator) -> Floats:
        """Steps moved so that every figure keeps to its limits, and what hangs together with it follows."""
        covariance, places = self.axes.T @ self.axes, list(self.limited)
        own = covariance[np.ix_(places, places)]
        before = self.mean[places] + steps @ self.axes[:, places]
        after = within_limits(before, mean=self.mean[places], covariance=own, rng=rng)
        moved = (after - before) @ np.linalg.pinv(own, hermitian=True) @ covariance[places]
        return np.asarray(steps + moved @ np.linalg.pinv(self.axes))
