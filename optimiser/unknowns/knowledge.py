"""What is known of a damper's unknown figures together: where they stand, how surely, what hangs together."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimiser.errors import InputError
from optimiser.unknowns.unknown import Owner, Unknown

Floats = NDArray[np.float64]

Key = tuple[Owner | str, str]
"""What an unknown is told by: its owner and its figure there."""


def key_of(unknown: Unknown) -> Key:
    """What an unknown is told by, whatever its uncertainty."""
    return unknown.owner, unknown.figure


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Knowledge:
    """Draws of a damper's unknowns as one normal distribution, about the damper that it is said of.

    Before any run on a dyno every draw has mean 0 and standard deviation 1 and none hangs together with
    another: see :meth:`prior`. A fit moves the means, narrows the spread and couples what runs cannot tell
    apart.

    Parameters
    ----------
    unknowns : the figures.
    mean : of their draws, in standard deviations of each unknown (unknowns,). [-]
    covariance : of the draws (unknowns, unknowns). [-]

    Raises
    ------
    InputError
        When the arrays do not fit the unknowns, or the covariance is none.
    """

    unknowns: tuple[Unknown, ...]
    mean: Floats
    covariance: Floats

    def __post_init__(self) -> None:
        """Refuse what is no distribution of these unknowns."""
        count = len(self.unknowns)
        if self.mean.shape != (count,) or self.covariance.shape != (count, count):
            raise InputError(
                f"got means {self.mean.shape} and a covariance {self.covariance.shape} for {count} unknown "
                "figures, expected one row for each."
            )
        if not (np.isfinite(self.mean).all() and np.isfinite(self.covariance).all()):
            raise InputError("got means or a covariance with a value that is no number.")
        even = np.allclose(self.covariance, self.covariance.T, atol=1e-8)
        if not even or (count and np.linalg.eigvalsh(self.covariance)[0] < -1e-8):
            raise InputError("got a covariance that is not symmetric, or below 0 in some direction.")

    @classmethod
    def prior(cls, unknowns: Sequence[Unknown]) -> Knowledge:
        """What is known without a run: every figure as it is written, as surely as it is known."""
        count = len(unknowns)
        return cls(unknowns=tuple(unknowns), mean=np.zeros(count), covariance=np.eye(count))

    @classmethod
    def of(cls, unknowns: Sequence[Unknown], *, learnt: Knowledge | None) -> Knowledge:
        """What is known of figures: what was learnt, where it was, else what is known without a run."""
        return cls.prior(unknowns) if learnt is None else learnt.about(unknowns)

    @property
    def deviations(self) -> Floats:
        """Standard deviation of each draw; 1 where nothing was learned (unknowns,). [-]"""
        return np.sqrt(np.diag(self.covariance))

    def about(self, unknowns: Sequence[Unknown]) -> Knowledge:
        """The same knowledge as said of other unknowns: those that are new to it stand at their priors.

        What it knows of figures that are left out is left out with them; the rest stays as it was.
        """
        places = {key_of(unknown): place for place, unknown in enumerate(self.unknowns)}
        kept = [(row, places[key_of(one)]) for row, one in enumerate(unknowns) if key_of(one) in places]
        found = Knowledge.prior(unknowns)
        rows, olds = np.array([row for row, _ in kept], int), np.array([old for _, old in kept], int)
        # a draw counts in standard deviations of its own unknown, which may be known otherwise by now
        scale = np.array([self.unknowns[old].uncertainty / unknowns[row].uncertainty for row, old in kept])
        found.mean[rows] = scale * self.mean[olds]
        found.covariance[np.ix_(rows, rows)] = np.outer(scale, scale) * self.covariance[np.ix_(olds, olds)]
        return found

    def forgetting(self, owner: Owner | str, *, but: Container[str] = ()) -> Knowledge:
        """The same with all figures of one owner at their priors, as when other parts are in.

        Parameters
        ----------
        owner : whose figures.
        but : those of them that are kept.
        """
        kept = [one for one in self.unknowns if one.owner != owner or one.figure in but]
        return self.about(kept).about(self.unknowns)
