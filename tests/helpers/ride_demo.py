"""The ride logs of the demo shop, made of twins of its trail bike: ``python -m tests.helpers.ride_demo`` writes them."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from tests.helpers.paths import ROOT
from tests.helpers.ride_twins import FORK, SHOCK, LoggerTraits, log_text, logged, ride

FOLDER: Final = ROOT / "inventory_demo" / "logs"
LENGTH: Final = 24.0
SEED: Final = 4
TRAITS: Final = LoggerTraits(rate=100.0, noise=0.0001)
FIRMER: Final = replace(SHOCK, slopes=(9000.0, 1900.0, 7000.0, 3200.0))
"""The rear wheel after more low-speed compression."""


def before_text() -> str:
    """Front and rear of one ride; the rear sensor reads 3 mm too much."""
    front = logged(ride(FORK, seed=SEED, length=LENGTH), traits=TRAITS, seed=1)
    rear = logged(ride(SHOCK, seed=SEED, length=LENGTH), traits=replace(TRAITS, offset=0.003), seed=2)
    columns = (
        ("Time (s)", front.time),
        ("Front travel (mm)", 1e3 * front.travel),
        ("Rear travel (mm)", 1e3 * rear.travel),
    )
    return log_text(columns, digits=2)


def after_text() -> str:
    """Rear of the same ride after more low-speed compression, in per cent."""
    rear = logged(ride(FIRMER, seed=SEED, length=LENGTH), traits=TRAITS, seed=3)
    return log_text((("Time (s)", rear.time), ("Rear travel (%)", 100 * rear.travel / 0.14)), digits=2)


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / "oxlip_trail.csv").write_text(before_text(), encoding="utf-8")
    (FOLDER / "oxlip_after.csv").write_text(after_text(), encoding="utf-8")
