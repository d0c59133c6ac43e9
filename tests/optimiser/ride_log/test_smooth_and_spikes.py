"""The filter keeps what a wheel does, delays nothing, and its slope is the true one; spikes go, motion stays."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfreqz

from optimiser.ride_log.smooth import CutOff, chosen_cut_off, smoothed, stretches
from optimiser.ride_log.spikes import spikes

RATE = 500.0
TIME = np.arange(0, 4, 1 / RATE)
MIDDLE = slice(500, 1500)


@pytest.mark.parametrize("frequency", [0.5, 2.0, 8.0, 20.0, 49.0])
def test_a_swing_keeps_its_phase_and_what_butterworth_leaves_of_it(frequency: float) -> None:
    swing = 0.02 * np.sin(2 * np.pi * frequency * TIME)
    filtered, velocity = smoothed(swing, rate=RATE, cut_off=CutOff(50.0, 50.0))
    _, once = sosfreqz(butter(2, 50.0, fs=RATE, output="sos"), [frequency], fs=RATE)
    gain = abs(once[0]) ** 2
    assert filtered[MIDDLE] == pytest.approx(gain * swing[MIDDLE], abs=2e-6)
    true = 0.02 * 2 * np.pi * frequency * np.cos(2 * np.pi * frequency * TIME)
    assert velocity[MIDDLE] == pytest.approx(gain * true[MIDDLE], abs=2e-3 * np.abs(true).max())


@pytest.mark.parametrize("rate", [100.0, 200.0, 1000.0])
def test_the_slope_of_a_swing_at_a_fifth_of_the_rate_is_right_where_differences_lose_a_quarter(
    rate: float,
) -> None:
    time = np.arange(0, 4, 1 / rate)
    omega = 2 * np.pi * rate / 5
    filtered, velocity = smoothed(np.sin(omega * time), rate=rate, cut_off=CutOff(0.4 * rate, 0.4 * rate))
    inside = slice(time.size // 4, -time.size // 4)
    size = filtered[inside].std()
    assert velocity[inside].std() == pytest.approx(omega * size, rel=0.02)
    differences = np.gradient(filtered, time)[inside]
    assert differences.std() < 0.8 * omega * size


def test_noise_lowers_the_calm_cut_off_and_never_the_fast_one() -> None:
    rng = np.random.default_rng(1)
    swing = 0.02 * np.sin(2 * np.pi * 1.5 * TIME)
    quiet = chosen_cut_off(swing + 1e-6 * rng.standard_normal(TIME.size), rate=RATE)
    loud = chosen_cut_off(swing + 4e-4 * rng.standard_normal(TIME.size), rate=RATE)
    assert quiet.fast == quiet.calm == loud.fast == 50.0
    assert 10.0 <= loud.calm < 40.0


def test_in_noise_a_calm_wheel_is_calm_and_a_sharp_edge_keeps_its_velocity() -> None:
    rng = np.random.default_rng(2)
    edge = 0.05 * (1 + np.tanh((TIME - 2) / 0.012)) / 2
    read = edge + 2e-4 * rng.standard_normal(TIME.size)
    _, velocity = smoothed(read, rate=RATE, cut_off=chosen_cut_off(read, rate=RATE))
    assert velocity.max() == pytest.approx(0.05 / 2 / 0.012, rel=0.1)
    assert velocity[100:800].std() < 0.015


def test_stretches_are_found_at_both_ends() -> None:
    assert stretches(np.array([True, True, False, True])) == [(0, 2), (3, 4)]
    assert stretches(np.zeros(3, dtype=bool)) == []


@pytest.mark.parametrize("width", [1, 2, 3])
@pytest.mark.parametrize("size", [-0.15, -0.01, 0.01, 0.15])
def test_one_to_three_samples_that_stick_out_are_spikes(width: int, size: float) -> None:
    swing = 0.05 * np.sin(2 * np.pi * 2 * TIME)
    swing[700 : 700 + width] += size
    assert np.flatnonzero(spikes(swing)).tolist() == list(range(700, 700 + width))


@pytest.mark.parametrize("at", [0, -1])
def test_a_first_or_last_sample_may_be_a_spike(at: int) -> None:
    swing = 0.05 * np.sin(2 * np.pi * 2 * TIME + 0.3)
    swing[at] += 0.08
    assert np.flatnonzero(spikes(swing)).tolist() == [at % swing.size]


@pytest.mark.parametrize("rate", [100.0, 200.0, 500.0])
def test_no_motion_of_a_wheel_is_a_spike_not_its_hop_nor_a_blow_nor_the_turn_at_its_end(rate: float) -> None:
    time = np.arange(0, 6, 1 / rate)
    hop = np.where(time < 2, 0.012 * np.sin(2 * np.pi * 15 * time), 0.0)
    blow = np.where((time > 3) & (time < 3.05), 3.0 * (time - 3), 0.0) + np.where(time >= 3.05, 0.15, 0.0)
    turn = np.where((time > 4) & (time < 4.1), -2.0 * np.minimum(time - 4, 4.1 - time), 0.0)
    assert not spikes(hop + blow + turn).any()
