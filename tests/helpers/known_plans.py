"""Plans that many tests look at, each worked out once a run and shared between its workers."""

from __future__ import annotations

import contextlib
import copyreg
import fcntl
import hashlib
import io
import math
import pickle
from collections.abc import Callable, Sequence, Set
from pathlib import Path
from types import MappingProxyType
from typing import Any, ClassVar, cast

from optimiser.files.job_reader import read_job
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.job import SEARCH_TIME, Job
from optimiser.jobs.plan import plan_job
from optimiser.jobs.planned import Planned
from optimiser.search import Control


def _read_only(mapping: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(mapping)


copyreg.pickle(MappingProxyType, lambda mapping: (_read_only, (dict(mapping),)))


class _Alike(pickle._Pickler):
    """Writes what is equal alike in every process: sets and keys in order, and whatever is there twice, twice."""

    dispatch: ClassVar[dict[type, Callable[..., None]]] = {**pickle._Pickler.dispatch}

    def save_set(self, found: Set[Any]) -> None:
        self._save_made(frozenset, sorted(found, key=repr))

    def save_dict(self, found: dict[Any, Any]) -> None:
        self._save_made(dict, sorted(found.items(), key=lambda item: repr(item[0])))

    def _save_made(self, kind: type, members: list[Any]) -> None:
        self.save_reduce(kind, (members,))  # type: ignore[attr-defined]  # its stub leaves it out

    dispatch[set] = dispatch[frozenset] = save_set
    dispatch[dict] = save_dict


def name_of(asked: object) -> str:
    """Name for a file, the same for what is equal and for nothing else."""
    written = io.BytesIO()
    pickler = _Alike(written)
    pickler.fast = True  # the memo tells which objects are one and the same, as by chance they are
    pickler.dump(asked)
    return hashlib.sha256(written.getvalue()).hexdigest()


class KnownPlans:
    """Stands for :func:`optimiser.jobs.plan.plan_job` where the same job is planned again and again.

    Whatever a plan depends on, the paths of its files among it, is part of its name; what a control tells of
    progress and of an interruption is not, so a test of those plans anew.

    Parameters
    ----------
    folder : where plans of this run are kept, the same for all workers.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def of(self, shop: Path, job: str) -> Planned:
        """The plan of a shop's job, as a command typed in the shop makes it."""
        with contextlib.chdir(shop):
            return self(read_job(Path("jobs") / f"{job}.toml"))

    def __call__(
        self,
        job: Job,
        *,
        record: Sequence[StepTaken] = (),
        override_reason: str | None = None,
        control: Control[Any] | None = None,
    ) -> Planned:
        """The plan of a job, from what is kept where another test has asked for it."""
        limit = None if control is None else control.time_limit
        if job.work.time_limit is None and limit in {None, SEARCH_TIME}:
            limit = math.inf  # the usual minute is never meant to end a test's plan, on whatever machine
        place = self._folder / f"{name_of((job, tuple(record), override_reason, limit))}.plan"
        with place.with_suffix(".lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)  # another worker that asks for the same waits for it
            if not place.exists():
                planned = plan_job(
                    job, record=record, override_reason=override_reason, control=Control(time_limit=limit)
                )
                place.write_bytes(pickle.dumps(planned))
        return cast("Planned", pickle.loads(place.read_bytes()))  # noqa: S301 (written above)
