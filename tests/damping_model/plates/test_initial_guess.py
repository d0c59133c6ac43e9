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


def plates_of(*shims: tuple[float, float]) -> Plates:
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


def bowl(plates: Plates, lift: float) -> np.ndarray:
    """Plates that rise with the square of the way from the clamp, to ``lift`` at the widest rim. [m]"""
    q = np.zeros((plates.last.size, plates.r.size, 3))
    share_of_width = (plates.r - plates.r[0]) / (plates.r[-1] - plates.r[0])
    q[:, :, 0] = lift * share_of_width**2
    q[:, :, 1] = 2 * lift * share_of_width / (plates.r[-1] - plates.r[0])
    return q


def inner_forces(plates: Plates, q: np.ndarray) -> np.ndarray:
    """What the plates push back with (plates, nodes, 3)."""
    forces = np.zeros_like(q)
    diagonal, coupling = np.zeros((plates.r.size, 3, 3)), np.zeros((plates.r.size, 3, 3))
    for k in plates.present:
        assemble(
            plates.last[k], q[k], plates.stretching[k], plates.membrane_matrix, plates.stiff[k], plates.slope[k], diagonal,
            coupling, forces[k],
        )  # fmt: skip
    return forces


def power(plates: Plates, q: np.ndarray, forces: np.ndarray) -> float:
    """Work that forces would do on the lifts and rotations of shapes."""
    return sum(
        float((forces[k, : plates.last[k] + 1, :2] * q[k, : plates.last[k] + 1, :2]).sum())
        for k in plates.present
    )


@pytest.mark.parametrize("lift", [1e-6, 0.1e-3, 1e-3])
def test_no_plate_is_pulled_along_the_radius_any_more(lift: float) -> None:
    plates = plates_of((12e-3, 0.15e-3), (10e-3, 0.2e-3))
    q = bowl(plates, lift)
    before = np.abs(inner_forces(plates, q)[:, 1:, 2]).max()
    scale_to_balance(plates, q, np.empty_like(q))
    assert np.abs(inner_forces(plates, q)[:, 1:, 2]).max() < 1e-9 * before


def test_what_is_left_of_the_lift_is_borne_by_the_load_that_bent_flat_plates_so_far() -> None:
    plates = plates_of((12e-3, 0.15e-3), (10e-3, 0.2e-3))
    linear = bowl(plates, 0.5e-3)
    bent = power(plates, linear, inner_forces(plates, 1e-6 * linear)) * 1e6
    q = linear.copy()
    scale_to_balance(plates, q, np.empty_like(q))
    share = q[0, -1, 0] / linear[0, -1, 0]
    assert 0.1 < share < 0.9
    assert power(plates, q, inner_forces(plates, q)) == pytest.approx(share * bent, rel=1e-9)


def test_a_small_lift_stays_and_a_large_one_grows_as_the_cube_root() -> None:
    plates = plates_of((12e-3, 0.15e-3))
    left = []
    for lift in (1e-7, 10.0, 80.0):
        q = bowl(plates, lift)
        assert scale_to_balance(plates, q, np.empty_like(q)) == pytest.approx(q[0, -1, 0])
        left.append(q[0, -1, 0])
    assert left[0] == pytest.approx(1e-7, rel=1e-5)
    assert left[2] / left[1] == pytest.approx(2.0, rel=1e-3)
