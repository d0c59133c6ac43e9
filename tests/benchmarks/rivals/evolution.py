"""Differential evolution of scipy, and the genetic algorithm of pymoo, on the same whole numbers."""

from __future__ import annotations

import itertools
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from pymoo.algorithms.soo.nonconvex.ga import GA
from pymoo.core.problem import ElementwiseProblem
from pymoo.operators.crossover.sbx import SBX
from pymoo.operators.mutation.pm import PM
from pymoo.operators.repair.rounding import RoundingRepair
from pymoo.operators.sampling.rnd import IntegerRandomSampling
from pymoo.optimize import minimize
from scipy.optimize import Bounds, differential_evolution

from tests.benchmarks.rivals.encoding import Encoding
from tests.benchmarks.rivals.question import Key, Question
from tests.benchmarks.rivals.recorder import Budget, End, Record
from tests.benchmarks.rivals.rival_evaluator import RivalEvaluator

DIFFERENTIAL, GENETIC = "differential evolution", "genetic algorithm"

GENERATIONS: Final = 100
"""Then a fresh population is drawn: one that has gathered at a stack finds no other. [-]"""

POPULATION: Final = 60
"""Members; scipy rounds up to whole multiples of the number of variables. [-]"""

RESTART: Final = 1_000
"""Seeds of fresh populations lie so far apart. [-]"""


def run_differential(question: Question, budget: Budget, *, seed: int, target: Key | None) -> Record:
    """Differential evolution with integrality, started afresh until the budget ends."""
    evaluator = RivalEvaluator(question, budget, target)
    encoding = Encoding(evaluator)

    def cost(numbers: NDArray[np.float64]) -> float:
        return encoding.cost(np.rint(numbers).astype(int).tolist())

    def work() -> End:
        size = len(encoding.most)
        for afresh in itertools.count(seed, RESTART):
            differential_evolution(
                cost,
                bounds=Bounds(np.zeros(size), np.array(encoding.most)),
                integrality=[True] * size,
                popsize=-(-POPULATION // size),
                maxiter=GENERATIONS,
                tol=0.0,  # as it ends by spread alone, stacks that cannot be built would look gathered
                polish=False,
                seed=np.random.default_rng(afresh),
            )
        return "gave up"

    return evaluator.record(DIFFERENTIAL, work, proves=False)


class _Problem(ElementwiseProblem):  # type: ignore[misc]
    """The cost of whole numbers, as pymoo asks for it."""

    def __init__(self, encoding: Encoding) -> None:
        super().__init__(
            n_var=len(encoding.most), n_obj=1, xl=np.zeros(len(encoding.most)), xu=np.array(encoding.most), vtype=int
        )  # fmt: skip
        self.encoding = encoding

    def _evaluate(self, x: Any, out: dict[str, float], *_: object, **__: object) -> None:
        out["F"] = self.encoding.cost(x)


def run_genetic(question: Question, budget: Budget, *, seed: int, target: Key | None) -> Record:
    """Genetic algorithm with the operators that pymoo's handbook names for whole numbers, started afresh."""
    evaluator = RivalEvaluator(question, budget, target)
    encoding = Encoding(evaluator)

    def work() -> End:
        for afresh in itertools.count(seed, RESTART):
            method = GA(
                pop_size=POPULATION,
                sampling=IntegerRandomSampling(),
                crossover=SBX(prob=1.0, eta=3.0, vtype=float, repair=RoundingRepair()),
                mutation=PM(prob=1.0, eta=3.0, vtype=float, repair=RoundingRepair()),
                eliminate_duplicates=True,
            )
            minimize(_Problem(encoding), method, ("n_gen", GENERATIONS), seed=afresh, verbose=False)
        return "gave up"

    return evaluator.record(GENETIC, work, proves=False)
