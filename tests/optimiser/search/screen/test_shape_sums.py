"""Sums of what shims do are what the model says of each member by itself, and none in reach is passed over."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.search.kernel import sums
from optimiser.search.screen import shape_sums
from optimiser.search.screen.additive_model import AdditiveModel
from optimiser.search.screen.constraints import Constraints
from optimiser.search.screen.figures import ShapeFigures
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.screen.shape_sums import ShapeSums
from optimiser.search.space.family import root_families
from tests.optimiser.search.screen.test_member_table import NAMES, of_place

RATIO = Constraints(
    np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [-1.0, 1.0]]), np.array([0.1, 0.1, 0.1, 0.05])
)


def model_of(inputs: np.ndarray, known: np.ndarray, *, widening: float) -> AdditiveModel:
    """Of made-up forces, nearly linear in the inputs."""
    rng = np.random.default_rng(3)
    scaled = inputs / np.maximum(np.abs(inputs).max(axis=0), 1e-300)
    slopes = rng.normal(size=(inputs.shape[1], 2))
    logs = (scaled - scaled.mean(axis=0)) @ slopes
    logs += 0.01 * np.sin(20 * logs)
    return AdditiveModel(inputs[known], logs[known], np.full(2, 1e-3), RATIO, widening=widening)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("at_once", [50_000, 7])
def test_ways_that_are_not_far_off_are_those_members_of_which_the_model_says_so(
    name: str, at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shape_sums, "AT_ONCE", at_once)
    reach, data, kinds = of_place(name)
    for shape in kinds[:3]:
        figures = ShapeFigures(shape, data, reach.problem.goal)
        whole = MemberTable.of(list(root_families(shape, 2)))
        table = whole.only(figures.allowed(whole))
        if len(table) < 40:
            continue
        inputs = figures.inputs(table)[:, : 2 * len(shape.slots)]
        known = np.random.default_rng(1).permutation(len(table))[: max(len(table) // 3, 40)]
        model = model_of(inputs, known, widening=0.5)
        assert model.margins.errors.size
        excess = model.excess(inputs)
        excess[np.abs(model.line.unlike(inputs)) > sums.ROUNDING] = -1.0
        near = float(np.quantile(excess, 0.6))
        near = max(near, 0.0)
        found: dict[tuple[bytes, bytes], float] = {}
        for outs, ins in MemberTable.ways(list(root_families(shape, 2)), shape):
            for out, put_in, by in ShapeSums(model, figures.table).not_far_off(outs, ins, near=near):
                some = MemberTable.product(outs, ins, out, put_in, number=0, shapes=(shape,))
                allowed = figures.allowed(some)
                found |= dict(zip(keys(some.only(allowed)), by[allowed].tolist(), strict=True))
        expected = {key: by for key, by in zip(keys(table), excess.tolist(), strict=True) if by < near}
        clear = {key for key, by in expected.items() if by < near - 1e-9}
        assert clear <= found.keys()
        assert all(
            by == pytest.approx(max(expected[key], -1.0), abs=1e-9) or expected[key] < 0
            for key, by in found.items()
            if key in expected
        )
        assert found.keys() - expected.keys() <= {
            key for key, by in zip(keys(table), excess, strict=True) if by < near + 1e-9
        }
        assert len(found) < len(table)


def keys(table: MemberTable) -> list[tuple[bytes, bytes]]:
    return [
        (np.sort(out[out >= 0]).tobytes(), np.sort(put_in[put_in >= 0]).tobytes())
        for out, put_in in zip(table.outs, table.ins, strict=True)
    ]
