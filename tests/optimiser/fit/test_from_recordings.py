"""From a machine's recordings to figures: gas, friction, warming, wrong signs and an unknown rate on the way."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from optimiser.files.damper_builder import read_typed_damper
from optimiser.files.dyno.reader import read_session
from optimiser.fit.fit_runs import fit_runs
from optimiser.fit.profile import FigureLabel
from tests.helpers.counts import thorough_only
from tests.helpers.dyno_twins import Setting, Traits, recording, recording_text
from tests.helpers.fit_twins import hidden, left_out_miss
from tests.helpers.paths import STIFF_SHOP

MACHINE = Traits(run_noise=0.01, cycle_noise=0.003, force_sign=-1.0, rate=311.0, zero=4e-3)
SPEEDS = (0.01, 0.05, 0.13, 0.26, 0.52)


@thorough_only("reads and fits a whole session; a quick run fits a twin, and reads recordings by themselves")
def test_a_twin_recorded_with_all_faults_of_a_machine_is_fitted_as_if_it_had_none(tmp_path: Path) -> None:
    described = read_typed_damper(STIFF_SHOP / "dampers" / "dunnock_shock.toml")
    twin = hidden(described, 4)
    files: list[Path] = []
    for clicks in ({}, {"rebound": 2}, {"rebound": 7}):
        for number, speed in enumerate(SPEEDS):
            one = recording(
                twin.true.damper,
                speed=speed,
                cycles=3 if speed < 0.02 else 16,
                setting=Setting(clicks=clicks),
                traits=MACHINE,
                seed=100 * len(files) + number,
                steel=twin.true.steel,
            )
            path = tmp_path / f"run{len(files)}.csv"
            position = clicks.get("rebound", described.damper.clicker("rebound").position)
            about = ["temperature: 40 C", f"clicks rebound: {position}", "sample rate: 800"]
            path.write_text(recording_text(one, about=about))
            files.append(path)
    runs = read_session(files, damper=described.damper).runs
    assert len(runs) == len(files)
    fit = fit_runs(described, runs)
    assert fit.verdict.holds
    hits = [
        estimate.low <= true <= estimate.high
        for estimate, true in zip(fit.estimates, twin.draws, strict=True)
        if estimate.label is FigureLabel.IDENTIFIED
    ]
    assert len(hits) >= 5
    assert sum(hits) >= len(hits) - 1
    assert left_out_miss(twin, fit.knowledge.mean) < 0.02
    assert left_out_miss(twin, np.zeros(twin.draws.size)) > 0.05
