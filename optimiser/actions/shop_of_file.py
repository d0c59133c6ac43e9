"""Which shim types to buy for a job's file, as the command and the local page ask it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from damping_model.units import MICROMETRE, MILLIMETRE
from optimiser.batch.job_to_sheet import free_to_plan
from optimiser.errors import InputError
from optimiser.files.catalogue import Offer, read_catalogue
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.setup import JobSetup, set_up, stack_to_change
from optimiser.jobs.whole_setup import opens_all, set_up_at_work
from optimiser.jobs.whole_shop import shop_for_all
from optimiser.model.stock import ShimKey
from optimiser.search import Control, Progress
from optimiser.studies.purchases import Shopping
from optimiser.studies.shopping import shop


@dataclass(frozen=True, slots=True)
class JobShopping:
    """What to buy for a job.

    Parameters
    ----------
    setup : the job.
    found : its purchases.
    offers : the catalogue's types that fit the shaft.
    open_stacks : names of the stacks that may change.
    """

    setup: JobSetup
    found: Shopping
    offers: Mapping[ShimKey, Offer]
    open_stacks: tuple[str, ...]


def shop_of_file(
    path: Path,
    catalogue: Path,
    *,
    most_types: int,
    time_limit: float | None,
    progress: Callable[[Progress], None],
    should_stop: Callable[[], bool],
    as_found: bool = False,
) -> JobShopping | str:
    """What to buy for a job, or what the basics ask to be put right first.

    Parameters
    ----------
    path : the job file.
    catalogue : CSV file of what can be bought.
    most_types : to buy together.
    time_limit : as typed: None for the job's own or the usual, 0 for none. [s]
    progress : hears how far it came.
    should_stop : once it says yes, what stands is given.
    as_found : take the damper as its file says, although the ledger knows that the shop has changed it since.

    Raises
    ------
    InputError
        When the files cannot be used, or nothing of the catalogue fits.
    ModelError
        When the damper cannot be computed.
    """
    offered = read_catalogue(catalogue)
    free, record = free_to_plan(path, as_found=as_found)
    several, gate = opens_all(free), basics_of(free)
    places = free.damper.stacks if several else (stack_to_change(free),)
    holes = {round(one.mounting.hole_diameter / MICROMETRE) for one in places}
    offers = {one.key: one for one in offered if one.key.inner in holes}
    if not offers:
        sizes = " or ".join(f"{hole * MICROMETRE / MILLIMETRE:g} mm" for hole in sorted(holes))
        named = " and ".join(f"'{one.name}'" for one in places)
        raise InputError(
            f"{catalogue}: got no type with a hole of {sizes}, expected some: that is "
            f"the shaft of {named}. Add types that fit it, or name another catalogue."
        )
    if not gate.passed:
        return gate.first
    control = Control(time_limit=free.work.patience(time_limit), should_stop=should_stop, progress=progress)
    sold = sorted(offers)
    if several:
        free.damper.refuse_what_cannot_be_built()
        setup = set_up_at_work(free, gate=gate, record=record)
        found = shop_for_all(setup, sold=sold, control=control, most_types=most_types)
    else:
        setup = set_up(free, gate=gate, record=record)
        found = shop(
            setup.problem,
            sold=sold,
            most_changes=free.work.most_changes,
            control=control,
            most_types=most_types,
        )
    return JobShopping(setup, found, offers, tuple(one.name for one in places))
