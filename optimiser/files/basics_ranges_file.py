"""The shop's ranges for the basics: sag by kind of machine and end, service hours, preload."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, model_validator

import optimiser.intake
from damping_model.units import MILLIMETRE
from optimiser.files.base import FileModel, read_toml
from optimiser.intake.basics import KindRanges, Ranges

OUR_OWN: Final = Path(optimiser.intake.__file__).with_name("basics.toml")
"""What is used where a shop has no file of its own."""

Pair = Annotated[list[float], Field(min_length=2, max_length=2)]


class KindSection(FileModel):
    """The usual ranges of one kind of machine."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    sag_percent: dict[str, Pair]
    """Least and most sag in percent of wheel travel, by end."""
    service_hours: Annotated[float, Field(gt=0, le=100_000)]
    """Hours after which a damper is serviced before it is judged."""

    @model_validator(mode="after")
    def _in_order(self) -> KindSection:
        for end, (least, most) in self.sag_percent.items():
            if not 0 < least < most < 100:
                raise ValueError(
                    f"sag_percent of '{end}' as [least, most] in percent, got [{least:g}, {most:g}]"
                )
        return self


class DampingRatioSection(FileModel):
    """Least and most damping ratio at sag, by stroke."""

    compression: Pair
    rebound: Pair

    @model_validator(mode="after")
    def _in_order(self) -> DampingRatioSection:
        for stroke, (least, most) in (("compression", self.compression), ("rebound", self.rebound)):
            if not 0 < least < most:
                raise ValueError(f"{stroke} as [least, most] above 0, got [{least:g}, {most:g}]")
        return self


class BasicsRangesFile(FileModel):
    """The ranges that the basics have to lie in."""

    most_preload_mm: Annotated[float, Field(gt=0, le=100)]
    low_anti_squat_percent: Annotated[float, Field(ge=-100, le=300)]
    damping_ratio: DampingRatioSection
    kind: Annotated[list[KindSection], Field(min_length=1)]


def read_ranges(path: Path = OUR_OWN) -> Ranges:
    """The ranges of a shop's file, or our own."""
    file = read_toml(path, BasicsRangesFile, what="basics ranges")
    return Ranges(
        most_preload=file.most_preload_mm * MILLIMETRE,
        low_anti_squat=file.low_anti_squat_percent / 100,
        damping_ratios={
            "compression": (file.damping_ratio.compression[0], file.damping_ratio.compression[1]),
            "rebound": (file.damping_ratio.rebound[0], file.damping_ratio.rebound[1]),
        },
        kinds=tuple(
            KindRanges(
                name=kind.name,
                sag={end: (pair[0] / 100, pair[1] / 100) for end, pair in kind.sag_percent.items()},
                service_hours=kind.service_hours,
            )
            for kind in file.kind
        ),
    )
