"""Where Newton goes on from after a linear step from flat plates."""

import numpy as np
import pytest

from damping_model.plates.assembly import assemble
from damping_model.plates.contact import Surroundings
from damping_model.plates.initial_guess import scale_to_balance
from damping_model.plates.plate import Plates, build_plates
from damping_model.stack.steel import SpringSteel

STEEL = SpringSteel()
RADII, SHARES = np.array([6e-3, 8e-3]), np.array([1.0, 1.0])
AROUND = Surroundings(np.zeros((0, 4)), 0.0, 9e-3, 0.0, 0.0, 0.0, 1.0, 0.0)


def plates(*shims: tuple[float, float]) -> Plates:
    """Plates of shims, as radius and thickness. [m]"""
    rows = [
        (
            radius,
            STEEL.bending(thickness=thickness),
            STEEL.stretching(thickness=thickness),
            STEEL.shear(thickness=thickness),
            thickness,
        )
        for radius, thickness in shims
    ]
    return build_plates(4e-3, STEEL.poisson_ratio, np.array(rows), rows[0][4], RADII, SHARES, AROUND, 16.0)


def bowl(laid: Plates, lift: float) -> np.ndarray:
    """Plates that rise with the square of the way from the clamp, to ``lift`` at the widest rim. [m]"""
    q = np.zeros((laid.last.size, laid.r.size, 3))
    way = (laid.r - laid.r[0]) / (laid.r[-1] - laid.r[0])
    q[:, :, 0] = lift * way**2
    q[:, :, 1] = 2 * lift * way / (laid.r[-1] - laid.r[0])
    return q


def inner_forces(laid: Plates, q: np.ndarray) -> np.ndarray:
    """What the plates push back with (plates, nodes, 3)."""
    forces = np.zeros_like(q)
    diagonal, coupling = np.zeros((laid.r.size, 3, 3)), np.zeros((laid.r.size, 3, 3))
    for k in laid.present:
        assemble(
            laid.last[k], q[k], laid.stretching[k], laid.membrane_matrix, laid.stiff[k], laid.slope[k], diagonal,
            coupling, forces[k],
        )  # fmt: skip
    return forces


def power(laid: Plates, q: np.ndarray, forces: np.ndarray) -> float:
    """Work that forces would do on the lifts and rotations of shapes."""
    return sum(
        float((forces[k, : laid.last[k] + 1, :2] * q[k, : laid.last[k] + 1, :2]).sum()) for k in laid.present
    )


@pytest.mark.parametrize("lift", [1e-6, 0.1e-3, 1e-3])
def test_no_plate_is_pulled_along_the_radius_any_more(lift: float) -> None:
    laid = plates((12e-3, 0.15e-3), (10e-3, 0.2e-3))
    q = bowl(laid, lift)
    before = np.abs(inner_forces(laid, q)[:, 1:, 2]).max()
    scale_to_balance(laid, q)
    assert np.abs(inner_forces(laid, q)[:, 1:, 2]).max() < 1e-9 * before


def test_what_is_left_of_the_lift_is_borne_by_the_load_that_bent_flat_plates_so_far() -> None:
    laid = plates((12e-3, 0.15e-3), (10e-3, 0.2e-3))
    linear = bowl(laid, 0.5e-3)
    bent = power(laid, linear, inner_forces(laid, 1e-6 * linear)) * 1e6
    q = linear.copy()
    scale_to_balance(laid, q)
    share = q[0, -1, 0] / linear[0, -1, 0]
    assert 0.1 < share < 0.9
    assert power(laid, q, inner_forces(laid, q)) == pytest.approx(share * bent, rel=1e-9)


def test_a_small_lift_stays_and_a_large_one_grows_as_the_cube_root() -> None:
    laid = plates((12e-3, 0.15e-3))
    left = []
    for lift in (1e-7, 10.0, 80.0):
        q = bowl(laid, lift)
        assert scale_to_balance(laid, q) == pytest.approx(q[0, -1, 0])
        left.append(q[0, -1, 0])
    assert left[0] == pytest.approx(1e-7, rel=1e-5)
    assert left[2] / left[1] == pytest.approx(2.0, rel=1e-3)
