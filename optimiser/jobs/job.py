"""One job as a value: whose machine and damper, what is asked for, what may be touched. SI throughout."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from damping_model.damper.damper import Damper
from optimiser.dyno.run import DynoRun
from optimiser.intake.basics import BasicsFinding, Ranges
from optimiser.intake.brackets import Notes
from optimiser.intake.carry import CarryBand
from optimiser.intake.complaint import Vocabulary
from optimiser.intake.job_goal import Asked
from optimiser.intake.machine import Machine, Rider
from optimiser.intake.measured import Basics
from optimiser.jobs.variant import AS_FILED, Variant
from optimiser.model.damper_answer import USUAL_TIMES, WorkTimes
from optimiser.model.damper_description import DamperDescription
from optimiser.model.other_parts import AtHand, ChangedParts
from optimiser.model.stock import Stock
from optimiser.model.stress import USUAL_RULE, StressRule
from optimiser.ride.events import RideTable
from optimiser.spread.model_uncertainty import ModelUncertainty
from optimiser.unknowns.knowledge import Knowledge


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownFeel:
    """A feel that is known from one machine and is to be carried over to another.

    Parameters
    ----------
    machine, damper : the known ones.
    known_corner : the wheel of the known machine.
    corner : the wheel of the job's machine.
    bands : of wheel velocity, that are to feel alike.
    stretch : the part of the travel that is matched, from and to, as shares. [-]
    """

    machine: Machine
    damper: Damper
    known_corner: str
    corner: str
    bands: tuple[CarryBand, ...]
    stretch: tuple[float, float]


SEARCH_TIME: Final = 60.0
"""How long somebody waits for an answer, unless job or command line say otherwise. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkOptions:
    """What may be touched, and how long the search may take.

    Parameters
    ----------
    stack : name of the stack that may change; None for all that there are.
    most_changes : most shims changed.
    candidates : how many answers are wanted.
    height_may_grow, height_may_shrink : how far the stack's height may change. [m]
    from_scratch : fit whole curves by small steps, from the stack in the damper or from a face shim alone;
        None to search for the fewest changes.
    clickers_to_middle : choose shims for clickers in the middle of their range.
    temperature : of the oil on the ride; None for the damper's own. [K]
    time_limit : end the search after this long; None for no limit. [s]
    stress : how far a shim may be stressed.
    times : what it takes to open assemblies of a damper and to change shims.
    """

    stack: str | None = None
    most_changes: int = 2
    candidates: int = 10
    height_may_grow: float = 0.2e-3
    height_may_shrink: float = 0.4e-3
    from_scratch: Literal["damper", "nothing"] | None = None
    clickers_to_middle: bool = False
    temperature: float | None = None
    time_limit: float | None = None
    stress: StressRule = USUAL_RULE
    times: WorkTimes = USUAL_TIMES

    def patience(self, asked: float | None) -> float:
        """How long a search for somebody who waits may take: as asked, else the job's own, else usual. [s]

        ``asked`` is what was typed: None for nothing, 0 for no limit.
        """
        if asked == 0:
            return math.inf
        return asked or self.time_limit or SEARCH_TIME


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One rider, one machine, one damper, one complaint.

    Parameters
    ----------
    path : the job file; sheets and messages name it.
    title : the job in a line.
    shop : what stands at the head of the sheet.
    number : of the job in the shop.
    words : what the rider said.
    rider, machine, damper : whose, which, and with what in it.
    asked : bands, words or one instant.
    known_feel : a feel to carry over, instead of what is asked; None for none.
    basics : what was measured before anybody opened the damper.
    notes : what riding the adjusters brought to light.
    work : what may be touched.
    stock : shims that are free on the shelf.
    shelf : the shelf's file.
    vocabulary : the shop's symptoms and bands.
    ranges : the shop's ranges for the basics.
    rides : the shop's events, usual machines and what is felt.
    noticed : words of advice about the job itself, which every answer to it carries.
    knowledge : of the damper's unknown figures after its runs on a dyno; None without a fit in use.
    runs : those that the fit was made from, to be drawn beside the curves.
    model_uncertainty : of a change that the model predicts; what the shop's own measured builds say of it.
    at_hand : what else may be turned, besides shims and clickers.
    parts : those that are others than in the damper now, where ``damper`` has them; None where it has not.
    variant : what is asked otherwise than the file says; see :func:`optimiser.jobs.varied.varied`.
    """

    path: Path
    title: str
    shop: str
    number: str
    words: str
    rider: Rider
    machine: Machine
    damper: DamperDescription
    asked: Asked
    known_feel: KnownFeel | None
    basics: Basics
    notes: tuple[Notes, ...]
    work: WorkOptions
    stock: Stock
    shelf: Path
    vocabulary: Vocabulary
    ranges: Ranges
    rides: RideTable
    noticed: tuple[BasicsFinding, ...] = ()
    knowledge: Knowledge | None = None
    runs: tuple[DynoRun, ...] = ()
    model_uncertainty: ModelUncertainty = ModelUncertainty()  # noqa: RUF009 (a frozen value)
    at_hand: tuple[AtHand, ...] = ()
    parts: ChangedParts | None = None
    variant: Variant = AS_FILED
