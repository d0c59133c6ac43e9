"""The search for the fewest shims to change, and the shop around it: the door for people who script.

>>> from pathlib import Path
>>> from optimiser import plan_job, read_job
>>> planned = plan_job(read_job(Path("jobs/a_more_support.toml")))  # doctest: +SKIP
>>> planned.answer.candidates[0].changes  # doctest: +SKIP

Everything here is a function or a frozen value in SI: metres, newtons, pascals, metres per second. Nothing is
loaded before it is asked for, so that ``import optimiser`` is quick.

From a job file to an answer
    :func:`read_job` gives a :class:`Job`, :func:`plan_job` a :class:`Planned` with its :class:`Answer`: a
    :class:`Status` and :class:`Candidate` values in order, each with its :class:`Change` values. A
    :class:`Control` limits the time, ends the search, or is told its :class:`Progress`.
From a job to questions of one's own
    :func:`set_up` gives a :class:`JobSetup`; its ``problem`` is a :class:`Problem` with the :class:`Goal`,
    the :class:`Stock` and the physics. :func:`solve` takes it for the fewest changes, :func:`reach` for how
    far each band goes.
What if
    :func:`compare` takes :class:`WhatIf` values, a damper with other stacks, clicks, oil or temperature each,
    and gives a :class:`Comparison`: the change of every one from the first, band by band. :func:`each_shim`
    says what every shim of a stack does.
From a damper file to its physics
    :func:`read_damper` gives a :class:`DamperDescription`; its ``damper`` goes to ``damping_model``.
What can go wrong
    :class:`InputError` for what a person wrote, ``damping_model.errors.ModelError`` for what cannot be
    computed.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from optimiser.errors import InputError
    from optimiser.files.damper_builder import read_damper
    from optimiser.files.job_reader import read_job
    from optimiser.jobs.job import Job, WorkOptions
    from optimiser.jobs.plan import plan_job
    from optimiser.jobs.planned import Planned
    from optimiser.jobs.setup import JobSetup, set_up
    from optimiser.jobs.what_if import Comparison, WhatIf, compare
    from optimiser.model.answer import Answer, Candidate, Change, Status
    from optimiser.model.damper_description import DamperDescription, MountedStack
    from optimiser.model.goal import Goal
    from optimiser.model.problem import Problem
    from optimiser.model.stock import ShimKey, Stock
    from optimiser.search.control import Control, Progress
    from optimiser.search.solve import solve
    from optimiser.studies.each_shim import each_shim
    from optimiser.studies.reach import Reach, reach

__all__ = [
    "Answer",
    "Candidate",
    "Change",
    "Comparison",
    "Control",
    "DamperDescription",
    "Goal",
    "InputError",
    "Job",
    "JobSetup",
    "MountedStack",
    "Planned",
    "Problem",
    "Progress",
    "Reach",
    "ShimKey",
    "Status",
    "Stock",
    "WhatIf",
    "WorkOptions",
    "compare",
    "each_shim",
    "plan_job",
    "reach",
    "read_damper",
    "read_job",
    "set_up",
    "solve",
]

_HOMES: Final = {
    "optimiser.errors": ("InputError",),
    "optimiser.files.damper_builder": ("read_damper",),
    "optimiser.files.job_reader": ("read_job",),
    "optimiser.jobs.job": ("Job", "WorkOptions"),
    "optimiser.jobs.plan": ("plan_job",),
    "optimiser.jobs.planned": ("Planned",),
    "optimiser.jobs.setup": ("JobSetup", "set_up"),
    "optimiser.jobs.what_if": ("Comparison", "WhatIf", "compare"),
    "optimiser.model.answer": ("Answer", "Candidate", "Change", "Status"),
    "optimiser.model.damper_description": ("DamperDescription", "MountedStack"),
    "optimiser.model.goal": ("Goal",),
    "optimiser.model.problem": ("Problem",),
    "optimiser.model.stock": ("ShimKey", "Stock"),
    "optimiser.search.control": ("Control", "Progress"),
    "optimiser.search.solve": ("solve",),
    "optimiser.studies.each_shim": ("each_shim",),
    "optimiser.studies.reach": ("Reach", "reach"),
}
"""Which module each name comes from; it is loaded when the name is first asked for."""


def __getattr__(name: str) -> Any:
    """Load a name of the door from its module."""
    for home, names in _HOMES.items():
        if name in names:
            value = getattr(import_module(home), name)
            globals()[name] = value
            return value
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    """The names of the door, whether they are loaded or not."""
    return sorted({*globals(), *__all__})
