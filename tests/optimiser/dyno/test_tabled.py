"""Tables of velocity and force: points at peaks, or a continuous plot, never the one for the other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.dyno.given import NOTHING_SETTLED, Given, Settled, VelocityTable
from optimiser.dyno.near_zero import AtRest
from optimiser.dyno.run import Branch, DynoRun, PlotKind
from optimiser.dyno.split import split_off
from optimiser.dyno.tabled import read_tables
from optimiser.errors import InputError
from tests.helpers.dyno_mangled import TARN, true_force
from tests.helpers.dyno_twins import Traits, gas_of, recording, table_run

TWIN = table_run(TARN, traits=Traits(cycle_noise=0.0))
GIVEN = Given(name="one", source="run.csv", lines=(1, 12))


def table(velocity: object, force: object, *, cut: bool = False) -> VelocityTable:
    return VelocityTable(given=GIVEN, velocity=np.array(velocity), force=np.array(force), ends_cut=cut)


def read_table(table: VelocityTable, settled: Settled) -> tuple[DynoRun, AtRest | None]:
    return read_tables([table], settled)[0]


def forces(run: DynoRun) -> list[float]:
    return [point.force for point in run.points]


def test_a_table_of_peaks_gives_its_points_as_they_stand() -> None:
    run, _ = read_table(table(TWIN.velocities(), forces(TWIN)), NOTHING_SETTLED)
    assert run.kind is PlotKind.PEAK_VELOCITY
    assert forces(run) == forces(TWIN)
    assert {point.branch for point in run.points} == {Branch.PEAK}


@pytest.mark.parametrize("signs", [(1, 1), (1, -1), (-1, 1), (-1, -1)])
def test_a_table_wired_either_way_is_put_right_since_gas_alone_pushes_both_strokes_one_way(
    signs: tuple[int, int],
) -> None:
    run, _ = read_table(
        table(signs[0] * TWIN.velocities(), signs[1] * np.array(forces(TWIN))), NOTHING_SETTLED
    )
    assert forces(run) == pytest.approx(forces(TWIN))


def test_rows_of_one_velocity_are_one_point_with_their_spread() -> None:
    run, _ = read_table(table([0.1, 0.1, 0.1, -0.1], [400.0, 404.0, 396.0, -300.0]), NOTHING_SETTLED)
    assert [(point.force, point.cycles) for point in run.points] == [(-300.0, 1), (400.0, 3)]
    assert run.points[1].spread == pytest.approx(4.0)


def test_a_row_at_rest_is_the_gas() -> None:
    velocity = [0.0, *TWIN.velocities()]
    run, rest = read_table(table(velocity, [196.0, *forces(TWIN)]), NOTHING_SETTLED)
    assert rest is not None
    (split,) = split_off([(run, rest)], NOTHING_SETTLED)
    assert split.gas_force == pytest.approx(196.0)
    assert split.friction is None


def test_a_continuous_plot_is_known_by_its_rows_and_its_branches_are_kept_apart() -> None:
    traits = Traits(stiffness=450e3, cell_noise=0.0, cycle_noise=0.0, warming=0.0)
    twin = recording(TARN, speed=0.26, cycles=6, traits=traits)
    velocity = 0.26 * np.cos(0.26 / 19.05e-3 * twin.time)
    run, _ = read_table(table(velocity, twin.force), NOTHING_SETTLED)
    assert run.kind is PlotKind.CONTINUOUS
    assert [point.velocity for point in run.peaks] == pytest.approx([-0.26, 0.26], rel=5e-3)
    for point in run.peaks:
        assert point.force == pytest.approx(true_force(TARN, point.sign * 0.26), rel=0.02)
    shares = [
        point
        for point in run.points
        if point.velocity > 0 and point.velocity == pytest.approx(0.104, rel=0.02)
    ]
    up, down = sorted(shares, key=lambda point: point.force)
    assert (up.branch, down.branch) == (Branch.SPEEDING_UP, Branch.SLOWING_DOWN)
    assert down.force - up.force > 5.0


def test_what_kind_of_plot_it_is_can_be_settled() -> None:
    velocity = np.linspace(-1, 1, 40)
    force = 800 * velocity + 100
    run, _ = read_table(table(velocity, force), NOTHING_SETTLED)
    assert run.kind is PlotKind.PEAK_VELOCITY
    settled, _ = read_table(table(velocity, force), Settled(continuous=True))
    assert settled.kind is PlotKind.CONTINUOUS


def test_points_where_the_cell_is_at_its_end_are_dropped_and_said() -> None:
    held = np.clip(forces(TWIN), -700, 700)
    run, _ = read_table(table(TWIN.velocities(), held), NOTHING_SETTLED)
    assert [round(point.velocity, 2) for point in run.points] == [
        -0.26,
        -0.13,
        -0.05,
        -0.02,
        0.02,
        0.05,
        0.13,
        0.26,
    ]
    assert sum("as a load cell at its end does" in note for note in run.notes) == 2


@pytest.mark.parametrize(
    ("velocity", "force", "words"),
    [
        ([0.1], [300.0], "two or more speeds"),
        ([-0.1, 0.1, 0.2, 0.5], [-100, 300.0, 500.0, 5.0], "falls from 400 N at 0.2 m/s to -95 N at 0.5 m/s"),
        ([0.1, 0.5], [300.0, 200.0], "does not grow"),
        ([100.0, 200.0], [300.0, 500.0], "a fastest velocity of 200 m/s"),
        ([0.1, 0.2], [3e5, 5e5], "a greatest force of 5e+05 N"),
        (forces(TWIN)[:3] + forces(TWIN)[-3:], [-1.04, -0.52, -0.26, 0.26, 0.52, 1.04], "fastest velocity"),
        ([-1.4, -0.8, -0.4, 0.5, 0.8, 1.4], [-104.0, -52, -26, 26, 52, 104], "look swapped"),
    ],
)
def test_what_no_damper_does_is_refused_in_words(
    velocity: list[float], force: list[float], words: str
) -> None:
    with pytest.raises(InputError, match=words.replace("+", r"\+")):
        read_table(table(velocity, force), NOTHING_SETTLED)


def test_gas_by_the_fill_is_taken_where_no_run_tells_it_and_is_good_to_fifteen_per_cent() -> None:
    found = [read_table(table(TWIN.velocities(), forces(TWIN)), NOTHING_SETTLED)]
    (run,) = split_off(found, NOTHING_SETTLED, shaft_section=TARN.displaced_area, filled_to=TARN.gas_pressure)
    assert run.gas is not None
    assert run.gas.force == pytest.approx(gas_of(TARN))
    assert run.gas.plus_minus == pytest.approx(0.15 * gas_of(TARN))
    (bare,) = split_off(found, NOTHING_SETTLED)
    assert bare.gas is None
    assert bare.damping_force(bare.points[0]) == bare.points[0].force


def test_what_a_person_says_of_gas_and_friction_is_taken_off_as_it_is() -> None:
    found = [read_table(table(TWIN.velocities(), forces(TWIN)), NOTHING_SETTLED)]
    (run,) = split_off(found, Settled(gas_force=196.35, friction_force=18.0))
    assert run.damping_forces() == pytest.approx(TWIN.damping_forces(), abs=0.01)


def test_slow_points_of_a_table_tell_gas_and_friction_as_a_slow_sine_does() -> None:
    speeds = (0.002, 0.003, 0.004, 0.005, 0.13, 0.52)
    twin = table_run(TARN, speeds=speeds, traits=Traits(cycle_noise=0.0))
    (run,) = split_off([read_table(table(twin.velocities(), forces(twin)), NOTHING_SETTLED)], NOTHING_SETTLED)
    assert run.gas is not None
    assert abs(run.gas.force - gas_of(TARN)) <= run.gas.plus_minus
    assert run.friction is not None
    assert abs(run.friction.force - TARN.friction) <= run.friction.plus_minus


def test_a_slow_run_speaks_for_the_runs_of_its_own_fill_alone() -> None:
    slow = table_run(TARN, speeds=(0.002, 0.003, 0.004, 0.005), traits=Traits(cycle_noise=0.0))
    one = read_table(table(slow.velocities(), forces(slow)), NOTHING_SETTLED)
    other = read_table(table(TWIN.velocities(), forces(TWIN)), NOTHING_SETTLED)
    filled = (replace(other[0], gas_pressure=10e5), other[1])
    alike, apart = split_off([one, filled], NOTHING_SETTLED)
    assert alike.gas is not None
    assert apart.gas is None


def test_what_one_table_of_a_file_proves_of_the_strokes_holds_for_all_of_them() -> None:
    fast = [point for point in TWIN.points if abs(point.velocity) > 0.04]
    plain = table([-point.velocity for point in fast], [point.force for point in fast])
    assert any("not proven" in note for note in read_table(plain, NOTHING_SETTLED)[0].notes)
    together = read_tables([plain, table(-TWIN.velocities(), forces(TWIN))], NOTHING_SETTLED)
    assert not any("not proven" in note for run, _ in together for note in run.notes)
    with pytest.raises(InputError, match="counted alike"):
        read_tables([plain, table(TWIN.velocities(), forces(TWIN))], NOTHING_SETTLED)
