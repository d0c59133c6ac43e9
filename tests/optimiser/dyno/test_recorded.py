"""The traits of real recordings (figures of OWN recordings in the project's notes on dynos) are seen and allowed for."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product
from typing import Final, Literal

import numpy as np
import pytest

from damping_model.units import POUND_PER_SQUARE_INCH
from optimiser.dyno.given import NOTHING_SETTLED, Given, Recording, Settled
from optimiser.dyno.near_zero import AtRest
from optimiser.dyno.recorded import read_recordings
from optimiser.dyno.run import Branch, DynoRun, PlotKind
from optimiser.dyno.split import split_off
from optimiser.dyno.strokes import StrokeSpan, cycles_of
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper
from tests.helpers.counts import tries
from tests.helpers.dyno_twins import CRANK, Traits, TwinRecording, damping_law, gas_of, recording
from tests.helpers.paths import ROOT

DAMPERS: Final = {
    name: read_damper(ROOT / "inventory_demo" / "dampers" / f"{name}.toml").damper
    for name in ("tarn_shock", "dunnock_shock", "yaffle_fork", "morwen_shock", "osier_shock")
}
NEWCOMERS: Final = [
    read_damper(path).damper
    for path in sorted((ROOT / "tests" / "data" / "newcomers").rglob("dampers/*.toml"))
]
TARN: Final = DAMPERS["tarn_shock"]
STIFF: Final = Traits(stiffness=None, warming=0.0)
SLOW: Final = 0.02


def given(claimed_rate: float | None = None) -> Given:
    return Given(name="one", source="run.csv", lines=(1, 9), claimed_rate=claimed_rate)


def of(twin: TwinRecording, claimed_rate: float | None = None) -> Recording:
    return Recording(
        given=given(claimed_rate), time=twin.time, displacement=twin.displacement, force=twin.force
    )


def read(*twins: TwinRecording, settled: Settled = NOTHING_SETTLED) -> list[tuple[DynoRun, AtRest | None]]:
    return read_recordings([of(twin) for twin in twins], settled)


def peak(run: DynoRun, sign: float) -> float:
    return next(point.force for point in run.peaks if point.sign == sign)


def truth(twin: TwinRecording, sign: float) -> float:
    return (twin.compression if sign > 0 else twin.rebound) + twin.gas + sign * twin.friction


@pytest.mark.parametrize("speed", [0.13, 0.26, 0.52, 1.04])
@pytest.mark.parametrize("motion", ["sine", "ramp"])
def test_on_a_stiff_rig_the_peaks_are_the_truth_within_half_a_per_cent(
    motion: Literal["sine", "ramp"], speed: float
) -> None:
    twin = recording(TARN, speed=speed, motion=motion, traits=STIFF, cycles=12)
    ((run, _),) = read(twin)
    assert [round(point.velocity, 2) for point in run.peaks] == [-round(speed, 2), round(speed, 2)]
    for sign in (1.0, -1.0):
        assert abs(peak(run, sign) - truth(twin, sign)) < 0.005 * abs(truth(twin, sign) - twin.gas)
    assert run.kind is PlotKind.CONTINUOUS


def test_the_rate_is_that_of_the_time_column_whatever_the_header_claims() -> None:
    twin = recording(TARN, speed=0.13, traits=replace(STIFF, rate=300.0))
    ((run, _),) = read_recordings([of(twin, claimed_rate=800.0)], NOTHING_SETTLED)
    assert run.sample_rate == pytest.approx(300.0, rel=1e-6)
    assert "The file claims 800 a second; the time column is believed." in run.notes
    assert run.peaks[-1].velocity == pytest.approx(0.13, rel=1e-3)


def test_without_a_time_column_the_rate_has_to_be_said_and_is_not_taken_from_the_header() -> None:
    twin = recording(TARN, speed=0.13)
    bare = Recording(
        given=given(claimed_rate=800.0), time=None, displacement=twin.displacement, force=twin.force
    )
    with pytest.raises(InputError, match=r"never taken from a header.*800.*--sample-rate"):
        read_recordings([bare], NOTHING_SETTLED)
    ((run, _),) = read_recordings([bare], Settled(sample_rate=300.0))
    assert run.peaks[-1].velocity == pytest.approx(0.13, rel=1e-3)


@pytest.mark.parametrize(("force", "travel"), list(product((1.0, -1.0), repeat=2)))
@pytest.mark.parametrize("name", DAMPERS)
def test_channels_wired_either_way_round_read_alike_where_a_slow_run_shows_the_gas(
    name: str, force: float, travel: float
) -> None:
    damper = DAMPERS[name]
    traits = replace(STIFF, force_sign=force, travel_sign=travel)
    slow = recording(damper, speed=SLOW, cycles=6, traits=traits)
    fast = recording(damper, speed=0.26, cycles=12, traits=traits)
    (_, _), (run, _) = read(slow, fast)
    for sign in (1.0, -1.0):
        assert peak(run, sign) == pytest.approx(truth(fast, sign), abs=0.01 * abs(fast.compression) + 0.5)
    assert any("tells the strokes apart" in note for note in run.notes)
    turned = [name for name, way in (("force", force), ("displacement", travel)) if way < 0]
    assert all(any(f"{name}" in note for note in run.notes) for name in turned)


def test_what_the_figures_cannot_prove_of_the_strokes_is_said_and_can_be_settled() -> None:
    fast = recording(TARN, speed=0.52, cycles=12, traits=replace(STIFF, travel_sign=-1.0))
    ((run, _),) = read(fast)
    assert any("not proven" in note and "--compression negative" in note for note in run.notes)
    ((right, _),) = read(fast, settled=Settled(travel_sign=-1.0))
    assert peak(right, 1.0) == pytest.approx(truth(fast, 1.0), rel=0.005)
    with pytest.raises(InputError, match="hand out power"):
        read(fast, settled=Settled(travel_sign=1.0, force_sign=1.0))


def test_fifty_to_a_hundred_and_fifty_psi_of_gas_is_one_offset_of_both_strokes() -> None:
    runs = []
    for psi in (50.0, 150.0):
        filled = replace(TARN, gas_pressure=psi * POUND_PER_SQUARE_INCH)
        runs += read(recording(filled, speed=0.124, cycles=20, traits=STIFF, seed=int(psi)))
    (low, _), (high, _) = runs
    shifts = [peak(high, sign) - peak(low, sign) for sign in (1.0, -1.0)]
    gas = 100 * POUND_PER_SQUARE_INCH * TARN.displaced_area
    assert shifts == pytest.approx([gas, gas], rel=0.03)
    half = [(peak(run, 1.0) - peak(run, -1.0)) / 2 for run in (low, high)]
    assert half[1] == pytest.approx(half[0], rel=0.005)


@pytest.mark.parametrize("name", DAMPERS)
@pytest.mark.parametrize("speed", [0.005, 0.01, 0.02])
def test_the_gas_of_a_slow_run_is_the_true_one_within_what_is_said(name: str, speed: float) -> None:
    damper = DAMPERS[name]
    runs = split_off(read(recording(damper, speed=speed, cycles=6)), NOTHING_SETTLED)
    rest = read(recording(damper, speed=speed, cycles=6))[0][1]
    assert rest is not None
    assert abs(rest.gas - gas_of(damper)) <= rest.gas_plus_minus
    if runs[0].gas is not None:
        assert abs(runs[0].gas.force - gas_of(damper)) <= runs[0].gas.plus_minus
    if runs[0].friction is not None:
        assert abs(runs[0].friction.force - damper.friction) <= runs[0].friction.plus_minus


def test_gas_and_friction_are_known_where_bleeds_open_first_and_friction_is_not_where_a_valve_does() -> None:
    known = split_off(read(recording(DAMPERS["yaffle_fork"], speed=SLOW, cycles=6)), NOTHING_SETTLED)[0]
    assert known.gas is not None
    assert known.friction is not None
    preloaded = split_off(read(recording(DAMPERS["morwen_shock"], speed=0.005, cycles=6)), NOTHING_SETTLED)[0]
    assert preloaded.friction is None
    assert any(note.startswith("Friction: not known, and left in.") for note in preloaded.notes)


def test_warming_over_a_hundred_cycles_is_seen_and_the_first_cycles_are_dropped() -> None:
    twin = recording(TARN, speed=0.13, cycles=100, traits=replace(STIFF, warming=-0.017, cycle_noise=0.001))
    ((run, _),) = read(twin)
    said = next(note for note in run.notes if "for warming up" in note)
    cycles = run.peaks[0].cycles
    assert cycles < 95
    assert (
        f"the first {100 - cycles - (cycles < run.peaks[1].cycles)}" in said or "cycles are dropped" in said
    )
    cold = read(recording(TARN, speed=0.13, cycles=100, traits=replace(STIFF, warming=0.0)))[0][0]
    assert cold.peaks[0].cycles in {94, 95}
    assert abs(peak(run, -1.0) - twin.gas) < abs(peak(cold, -1.0) - twin.gas)


def test_five_cycles_are_run_before_reading_where_there_are_enough_and_fewer_are_said() -> None:
    ((long, _),) = read(recording(TARN, speed=0.13, cycles=12, traits=STIFF))
    assert any("the first 5 cycles are dropped for warming up" in note for note in long.notes)
    ((short, _),) = read(recording(TARN, speed=0.13, cycles=6, traits=STIFF))
    assert any("too few for that" in note for note in short.notes)
    ((asked, _),) = read(recording(TARN, speed=0.13, cycles=12, traits=STIFF), settled=Settled(warm_up=2))
    assert any("the first 2 cycles are dropped as you say" in note for note in asked.notes)


def test_cycle_to_cycle_noise_of_three_tenths_of_a_per_cent_comes_out_as_spread() -> None:
    twin = recording(TARN, speed=0.13, cycles=100, traits=replace(STIFF, cycle_noise=0.0035, cell_noise=0.0))
    ((run, _),) = read(twin)
    for point, damping in zip(run.peaks, (twin.rebound, twin.compression), strict=True):
        # a chi distribution of some 90 cycles: 20 % is beyond two and a half of its deviations
        assert point.spread == pytest.approx(0.0035 * abs(damping), rel=0.2)


def test_branches_lie_apart_on_a_rig_that_gives_and_are_kept_from_the_peaks() -> None:
    twin = recording(TARN, speed=0.124, cycles=20, traits=Traits(stiffness=450e3, warming=0.0))
    ((run, _),) = read(twin)
    slow = [point for point in run.points if abs(point.velocity + 0.2 * 0.124) < 1e-3]
    up = next(point for point in slow if point.branch is Branch.SPEEDING_UP)
    down = next(point for point in slow if point.branch is Branch.SLOWING_DOWN)
    assert up.sign * (down.force - up.force) > 10.0
    assert len(run.peaks) == 2
    assert {abs(round(point.velocity, 3)) for point in run.peaks} == {0.124}


def test_on_a_soft_rig_the_force_is_read_at_its_top_where_it_belongs_to_its_velocity() -> None:
    twin = recording(TARN, speed=1.04, cycles=12, traits=Traits(stiffness=300e3, warming=0.0))
    ((run, _),) = read(twin)
    law = damping_law(TARN)
    for point in run.peaks:
        assert abs(point.velocity) < 0.99 * 1.04
        true = float(law(np.array([point.velocity]))[0]) + twin.gas + point.sign * twin.friction
        assert point.force == pytest.approx(true, abs=0.005 * abs(true - twin.gas))
    assert sum("The force is read at its top instead" in note for note in run.notes) == 2
    ((middle, _),) = read(twin, settled=Settled(mid_stroke=0.0))
    assert peak(middle, 1.0) - twin.gas < 0.97 * (truth(twin, 1.0) - twin.gas)
    ((stiff, _),) = read(recording(TARN, speed=1.04, cycles=12, traits=STIFF))
    assert not any("at its top" in note for note in stiff.notes)


@pytest.mark.parametrize("seed", range(tries(quick=12, thorough=100)))
def test_whatever_the_machine_does_the_points_are_the_damper_s_own(seed: int) -> None:
    rng = np.random.default_rng(seed)
    damper = (*DAMPERS.values(), *NEWCOMERS)[seed % (len(DAMPERS) + len(NEWCOMERS))]
    traits = Traits(
        cycle_noise=rng.uniform(0.0003, 0.0035),  # dyno notes 1, as the next three
        warming=rng.uniform(-0.017, -0.006),
        stiffness=rng.uniform(300e3, 600e3),
        force_sign=rng.choice([-1.0, 1.0]),
        travel_sign=rng.choice([-1.0, 1.0]),
        cell_noise=rng.uniform(0.0, 1.5),
        rate=rng.uniform(220.0, 1000.0),
        zero=rng.uniform(-0.05, 0.05),
    )
    speeds = [rng.uniform(0.005, 0.02), rng.uniform(0.05, 1.0)]
    cycles = [int(rng.integers(5, 8)), int(rng.integers(5, 25))]
    each = [replace(traits, rate=150.0), traits]
    twins = [
        recording(damper, speed=speed, cycles=count, traits=one, seed=seed)
        for speed, count, one in zip(speeds, cycles, each, strict=True)
    ]
    law = damping_law(damper, fastest=1.2)
    runs = split_off(read(*twins), NOTHING_SETTLED)
    for run, twin in zip(runs, twins, strict=True):
        if run.gas is not None:
            assert abs(run.gas.force - twin.gas) <= run.gas.plus_minus
        if run.friction is not None:
            assert abs(run.friction.force - twin.friction) <= run.friction.plus_minus
        # A fork without gas: nothing tells its strokes apart, which is said.
        way = -1.0 if any("not proven" in note for note in run.notes) and traits.travel_sign < 0 else 1.0
        for point in run.peaks:
            damping = float(law(np.array([way * point.velocity]))[0])
            true = way * (damping + twin.gas) + point.sign * twin.friction
            # the middle of a parabola through n samples of noise s has the standard error 1.5 s / sqrt(n); where it
            # counts, in slow runs, n is 20 or more
            noise = 4 * 1.5 * traits.cell_noise / np.sqrt(20 * point.cycles)
            assert point.force == pytest.approx(true, abs=0.02 * (abs(damping) + twin.friction) + noise)


def test_a_staircase_of_speeds_in_one_recording_becomes_a_point_for_each() -> None:
    parts = [recording(TARN, speed=speed, cycles=12, traits=STIFF) for speed in (0.13, 0.26, 0.52)]
    starts = np.cumsum([0.0, *(part.time[-1] + 1 / 300 for part in parts[:-1])])
    whole = replace(
        parts[0],
        time=np.concatenate([part.time + start for part, start in zip(parts, starts, strict=True)]),
        displacement=np.concatenate([part.displacement for part in parts]),
        force=np.concatenate([part.force for part in parts]),
    )
    ((run, _),) = read(whole)
    assert [round(point.velocity, 2) for point in run.peaks] == [-0.52, -0.26, -0.13, 0.13, 0.26, 0.52]
    for point in run.peaks:
        twin = next(part for part in parts if round(part.speed, 2) == round(abs(point.velocity), 2))
        assert point.force == pytest.approx(truth(twin, point.sign), abs=0.01 * abs(twin.compression))


def test_the_force_is_read_at_another_place_if_a_person_says_so() -> None:
    twin = recording(TARN, speed=0.13, cycles=12, traits=STIFF)
    ((run, _),) = read(twin, settled=Settled(mid_stroke=10e-3))
    expected = 0.13 * np.sqrt(1 - (10 / 19.05) ** 2)
    assert run.peaks[-1].velocity == pytest.approx(expected, rel=0.02)


def test_a_spring_left_on_the_damper_takes_no_power_and_is_refused_when_it_is_all_there_is() -> None:
    twin = recording(TARN, speed=0.13)
    with pytest.raises(InputError, match=r"do not go together.*springs off"):
        read(replace(twin, force=2e4 * twin.displacement))


@pytest.mark.parametrize("motion", ["sine", "ramp"])
@pytest.mark.parametrize("samples", [6, 12, 18, 21, 26, 40])
def test_too_few_samples_in_a_stroke_are_refused_and_enough_are_read_right(
    motion: Literal["sine", "ramp"], samples: int
) -> None:
    """Samples in a whole turn; what is let through is right within two per cent."""
    rate = samples * 1.04 / ((2 * np.pi if motion == "sine" else 4) * CRANK)
    twin = recording(TARN, speed=1.04, cycles=20, motion=motion, traits=replace(STIFF, rate=rate))
    if samples < 20:
        with pytest.raises(InputError, match=r"fewer than 10 samples .* Record faster"):
            read(twin)
        return
    ((run, _),) = read(twin)
    law = damping_law(TARN)
    for point in run.peaks:
        damping = float(law(np.array([point.velocity]))[0])
        assert point.force - twin.gas - point.sign * twin.friction == pytest.approx(damping, rel=0.02)
        assert abs(point.velocity) == pytest.approx(1.04, rel=0.05)


def test_cycles_are_a_stroke_and_the_one_right_behind_it_whatever_was_dropped_between() -> None:
    ends = [0, 10, 20, 30, 40, 50]
    strokes = [
        StrokeSpan(first=first, last=last, sign=(-1.0) ** number)
        for number, (first, last) in enumerate(pairwise(ends))
    ]
    assert cycles_of(strokes) == [0, 2]
    assert cycles_of([*strokes[:1], *strokes[2:]]) == [1]
    assert cycles_of([strokes[0], strokes[2], strokes[4]]) == []


def test_coarse_or_noisy_displacement_and_uneven_times_read_alike() -> None:
    twin = recording(TARN, speed=0.26, cycles=10, traits=STIFF)
    rng = np.random.default_rng(2)
    spoiled = (
        replace(twin, displacement=np.round(twin.displacement, 4)),
        replace(twin, displacement=twin.displacement + 2e-5 * rng.standard_normal(twin.time.size)),
        replace(twin, force=np.round(twin.force / 5) * 5),
        replace(twin, time=twin.time + rng.uniform(-1e-3, 1e-3, twin.time.size)),
    )
    for one in spoiled:
        ((run, _),) = read(one)
        for sign in (1.0, -1.0):
            assert peak(run, sign) == pytest.approx(truth(twin, sign), rel=0.01)


def test_the_same_damper_reads_alike_at_any_rate_and_any_zero_of_the_displacement() -> None:
    for rate, zero in ((150.0, 0.0), (1000.0, 12e-3), (300.0, -0.3)):
        twin = recording(TARN, speed=0.26, cycles=12, traits=replace(STIFF, rate=rate, zero=zero))
        ((run, _),) = read(twin)
        assert peak(run, 1.0) == pytest.approx(truth(twin, 1.0), rel=0.006)
