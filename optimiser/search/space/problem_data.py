"""What every part of a search needs to know of one problem, worked out once."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

from damping_model.stack.packs import Pack
from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.errors import InputError
from optimiser.model.edits import keys_of
from optimiser.model.problem import Problem
from optimiser.model.rings import CentredPack, centred_packs
from optimiser.model.rules import DiametersFall, Mounting, Rule, violations
from optimiser.model.stock import ShimKey
from optimiser.search.evaluator import Evaluator


@dataclass(frozen=True, slots=True)
class ProblemData:
    """What every shape of one problem shares.

    Parameters
    ----------
    stack : what is in the damper.
    mounting : the place that it is bolted to.
    rules : what a stack has to keep.
    packs : of the stack, each with the rings that it centres.
    plates : every type that may be used, as a plate of its own, by diameter.
    available : how many of each type there are, in the damper and on the shelf together.
    """

    stack: Stack
    mounting: Mounting
    rules: tuple[Rule, ...]
    packs: tuple[CentredPack, ...]
    plates: dict[int, dict[ShimKey, Pack]]
    available: Counter[ShimKey]

    @property
    def most_runs(self) -> int:
        """Most runs of falling diameter that the rules allow."""
        fall = [rule.most_crossovers for rule in self.rules if isinstance(rule, DiametersFall)]
        return 1 + min(fall, default=2)


def problem_data(problem: Problem, evaluator: Evaluator) -> ProblemData:
    """Every type that fits the shaft and clears the bore, as plates, and the packs of the stack.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself.
    """
    stack, mounting, rules = problem.stack, problem.mounting, problem.required_rules
    broken = violations(rules, stack, mounting)
    if broken:
        raise InputError("The stack in the damper cannot be built as it is written: " + " ".join(broken))
    hole = round(mounting.hole_diameter / MICROMETRE)
    widest = 2 * mounting.bore_radius / MICROMETRE
    available = Counter(keys_of(stack)) + Counter({k: n for k, n in problem.stock.counts.items() if n > 0})
    face = stack.shims[0]
    plates: dict[int, dict[ShimKey, Pack]] = defaultdict(dict)
    for key in sorted(available):
        if key.inner == hole and key.outer < widest:
            plate = evaluator.plate(key, face)
            if key.outer * MICROMETRE <= mounting.clamp_diameter:
                plate = Pack(plate.outer_radius, 0.0, 0.0, 0.0, plate.height)
            plates[key.outer][key] = plate
    packs = centred_packs(keys_of(stack), hole=hole)
    return ProblemData(stack, mounting, rules, packs, dict(plates), available)
