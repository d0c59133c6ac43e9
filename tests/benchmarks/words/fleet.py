"""The dampers that jobs in words are asked of: the stiff shop's, and two shops that a newcomer wrote."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimiser.intake.complaint import Symptom, Vocabulary
from tests.helpers.paths import ROOT, STIFF_SHOP

NEWCOMERS: Final = ROOT / "tests" / "data" / "newcomers"
GIVEN: Final = NEWCOMERS / "buggy_shop"
OTHERS: Final = NEWCOMERS / "three_kinds"


@dataclass(frozen=True, slots=True, kw_only=True)
class RiddenDamper:
    """A damper with the machine and the rider that it works for.

    Parameters
    ----------
    damper, bike, rider, shelf : files.
    end : of the machine, as symptoms name it.
    compression, rebound : the stack that a tuner would name first in each stroke.
    """

    damper: Path
    bike: Path
    rider: Path
    shelf: Path
    end: str
    compression: str
    rebound: str

    @property
    def name(self) -> str:
        """Of the damper, short."""
        return self.damper.stem

    def fits(self, symptom: Symptom) -> bool:
        """Whether a rider can say that of this end."""
        return symptom.end in {"either", self.end}


def _ride(
    shop: Path, damper: str, bike: str, rider: str, *, end: str, compression: str, rebound: str
) -> RiddenDamper:
    return RiddenDamper(
        damper=shop / "dampers" / f"{damper}.toml",
        bike=shop / "bikes" / f"{bike}.toml",
        rider=shop / "riders" / f"{rider}.toml",
        shelf=shop / "shelf.csv",
        end=end,
        compression=compression,
        rebound=rebound,
    )


_USUAL: Final = {"compression": "compression stack", "rebound": "rebound stack"}

FLEET: Final[tuple[RiddenDamper, ...]] = (
    _ride(STIFF_SHOP, "tarn_shock", "oxlip_trail", "ines", end="rear", **_USUAL),
    _ride(STIFF_SHOP, "dunnock_shock", "oxlip_trail", "tobias", end="rear", **_USUAL),
    _ride(STIFF_SHOP, "morwen_shock", "fell_motocross", "jonas", end="rear", **_USUAL),
    _ride(
        STIFF_SHOP, "yaffle_fork", "oxlip_trail", "ines", end="front",
        compression="base compression stack", rebound="rebound stack",
    ),
    _ride(GIVEN, "sxs", "buggy", "dan", end="rear", compression="compression", rebound="rebound"),
    _ride(GIVEN, "fork", "hardtail", "dan", end="front", compression="base stack", rebound="rebound stack"),
    _ride(OTHERS, "knapweed", "pit_bike", "lou", end="rear", **_USUAL),
    _ride(OTHERS, "teasel", "coil_trail", "lou", end="rear", **_USUAL),
    _ride(
        OTHERS, "celandine", "coil_trail", "lou", end="front", compression="base stack", rebound="rebound stack"
    ),
)  # fmt: skip


def jobs(
    vocabulary: Vocabulary, rides: tuple[RiddenDamper, ...] = FLEET
) -> Iterator[tuple[RiddenDamper, Symptom]]:
    """Every row of the table on every damper that it fits."""
    for ride in rides:
        for symptom in vocabulary.symptoms:
            if ride.fits(symptom):
                yield ride, symptom


def job_text(ride: RiddenDamper, symptom: Symptom) -> str:
    """The job file as a newcomer writes it: who, what, the rider's words, and the stack."""
    stack = ride.compression if symptom.stroke == "compression" else ride.rebound
    return f"""title = "{ride.name}: {symptom.name}"
rider = "{ride.rider}"
bike = "{ride.bike}"
damper = "{ride.damper}"
shelf = "{ride.shelf}"

[complaint]
words = "It {symptom.name}."
symptom = "{symptom.name}"

[work]
stack = "{stack}"
"""
