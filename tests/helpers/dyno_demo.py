"""The dyno runs of the demo shop, made of a twin of its trail shock: ``python -m tests.helpers.dyno_demo`` writes them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from damping_model.units import BAR, celsius
from optimiser.dyno.run import DynoRun
from optimiser.files.damper_builder import read_damper
from tests.helpers.dyno_twins import Setting, Traits, TwinRecording, recording, table_run
from tests.helpers.paths import ROOT

FOLDER: Final = ROOT / "inventory_demo" / "dyno"

REAL: Final = replace(
    read_damper(ROOT / "inventory_demo" / "dampers" / "tarn_shock.toml").damper,
    gas_pressure=24.2 * BAR,
    friction=22.0,
)
"""The shock on the dyno: not quite as its file has it."""

SETTING: Final = Setting(clicks={"rebound": 7, "low-speed compression": 4})
SLOW: Final = recording(
    REAL,
    speed=0.01,
    cycles=4,
    setting=SETTING,
    traits=Traits(rate=20.0, force_sign=-1.0, warming=0.0),
    seed=21,
)
FAST: Final = recording(
    REAL, speed=0.26, cycles=11, setting=SETTING, traits=Traits(rate=100.0, force_sign=-1.0), seed=22
)
PEAKS: Final = {
    clicks: table_run(
        REAL,
        speeds=(0.05, 0.13, 0.26, 0.52, 1.04),
        setting=Setting(clicks={"rebound": clicks, "low-speed compression": 4}),
        traits=Traits(run_noise=0.005),
        seed=clicks,
    )
    for clicks in (4, 7, 12)
}
"""Tables of peaks by clicks of rebound."""


def sine_text() -> str:
    """A slow run and a faster one, as a machine records them that counts force the other way round."""
    return "\n".join(
        _recorded(run, name) for run, name in ((SLOW, "slow, for gas and friction"), (FAST, "0.26 m/s"))
    )


def _recorded(twin: TwinRecording, name: str) -> str:
    lines = [f"# run: {name}", "# rebound clicks: 7", "# compression clicks: 4", "# temperature: 40 C"]
    lines += ["# sample rate: 800", "Time (s),Displacement (mm),Force (N)"]
    rows = zip(twin.time, 1000 * twin.displacement, twin.force, strict=True)
    return "\n".join([*lines, *(f"{t:.3f},{x:.2f},{f:.1f}" for t, x, f in rows)]) + "\n"


def peaks_text() -> str:
    """Tables at three clicks of rebound, in inches a second and pounds, with decimal commas."""
    return "\n".join(_tabled(run) for run in PEAKS.values())


def _tabled(run: DynoRun) -> str:
    lines = [f"# {name} clicks: {clicks}" for name, clicks in run.clicks.items()]
    lines += [f"# temperature: {celsius(kelvin=run.temperature or np.nan):.0f} C"]
    lines += ["Peak velocity (in/s);Peak force (lbf)"]
    rows = [f"{point.velocity / 0.0254:.2f};{point.force / 4.4482216152605:.2f}" for point in run.points]
    return "\n".join([*lines, *(row.replace(".", ",") for row in rows)]) + "\n"


def write(folder: Path) -> None:
    """Write both files."""
    folder.mkdir(exist_ok=True)
    (folder / "tarn_sine.csv").write_text(sine_text(), encoding="utf-8")
    (folder / "tarn_peaks.csv").write_text(peaks_text(), encoding="utf-8")


if __name__ == "__main__":
    write(FOLDER)
