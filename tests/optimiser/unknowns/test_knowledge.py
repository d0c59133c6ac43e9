"""What is known of unknown figures together."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.errors import InputError
from optimiser.unknowns.knowledge import Knowledge
from optimiser.unknowns.unknown import Distribution, Owner, Unknown

AREA = Unknown(owner="bleed", figure="diameter", words="diameter", uncertainty=0.02)
OIL = Unknown(owner=Owner.OIL, figure="viscosity", words="viscosity", uncertainty=0.05)
SHIM = Unknown(
    owner=Owner.SHIMS_INSIDE,
    figure="100",
    words="thickness",
    uncertainty=3.5e-6,
    distribution=Distribution.RECTANGULAR,
)

FITTED = Knowledge(
    unknowns=(AREA, OIL),
    mean=np.array([0.8, -0.3]),
    covariance=np.array([[0.09, -0.1], [-0.1, 0.5]]),
)


def test_without_a_run_every_draw_is_at_its_prior() -> None:
    known = Knowledge.prior((AREA, SHIM))
    assert known.mean == pytest.approx([0, 0])
    assert known.deviations == pytest.approx([1, 1])


def test_figures_that_are_new_to_it_stand_at_their_priors() -> None:
    known = FITTED.about((SHIM, OIL, AREA))
    assert known.mean == pytest.approx([0, -0.3, 0.8])
    assert known.covariance == pytest.approx(np.array([[1, 0, 0], [0, 0.5, -0.1], [0, -0.1, 0.09]]))


def test_a_figure_that_is_known_better_by_now_keeps_its_place_in_its_own_unit() -> None:
    finer = Unknown(owner="bleed", figure="diameter", words="diameter", uncertainty=0.01)
    known = FITTED.about((finer,))
    assert known.mean[0] * 0.01 == pytest.approx(FITTED.mean[0] * 0.02)
    assert known.deviations[0] * 0.01 == pytest.approx(FITTED.deviations[0] * 0.02)


def test_what_is_forgotten_of_one_part_leaves_the_rest_as_it_was() -> None:
    known = FITTED.forgetting("bleed")
    assert known.mean == pytest.approx([0, -0.3])
    assert known.covariance == pytest.approx(np.diag([1, 0.5]))


def test_what_is_no_distribution_is_refused() -> None:
    with pytest.raises(InputError, match="one row for each"):
        Knowledge(unknowns=(AREA,), mean=np.zeros(2), covariance=np.eye(2))
    with pytest.raises(InputError, match="below 0"):
        Knowledge(unknowns=(AREA, OIL), mean=np.zeros(2), covariance=np.array([[1.0, 2.0], [2.0, 1.0]]))
