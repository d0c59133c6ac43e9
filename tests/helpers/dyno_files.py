"""Files of dyno runs that measure exactly what is in a damper's file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from optimiser.files.damper_builder import read_damper
from tests.helpers.dyno_twins import Setting, Traits, table_run, table_text

SPEEDS = (0.03, 0.05, 0.08, 0.13, 0.2, 0.3, 0.5, 0.8, 1.2, 1.8)
STILL = Traits(cycle_noise=0.001)


def write_runs(file: Path, damper: Path, *, clicks: Mapping[str, int] | None = None) -> Path:
    """Measure what is in the damper's file."""
    described = read_damper(damper).damper
    measured = table_run(described, speeds=SPEEDS, traits=STILL, setting=Setting(clicks=dict(clicks or {})))
    file.write_text(table_text(measured))
    return file
