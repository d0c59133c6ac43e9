"""What becomes of a day's shelf in words: what it costs a job, what is lacking, what to buy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from optimiser.allocation.day_choice import DayChoice
from optimiser.allocation.job_options import JobOption, JobOptions
from optimiser.allocation.purchase import DayPurchase
from optimiser.files.catalogue import Offer
from optimiser.model.stock import ShimKey


def served_words(jobs: Sequence[JobOptions], day: DayChoice) -> str:
    """How many jobs are served, and how far that is proven."""
    served, most = len(day.served), sum(bool(job.open) for job in jobs)
    best = "proven the best" if day.proven else "the best found in the time, not proven"
    return f"{served} of {most} jobs that a stack serves, {best}."


def cost_words(job: JobOptions, day: DayChoice, shelf: Mapping[ShimKey, int]) -> str:
    """What a job gets beside its first choice, or why it gets nothing.

    Parameters
    ----------
    job : of the day.
    day : what each job gets.
    shelf : what was free.
    """
    one = day.chosen[job.name]
    if not job.options:
        return "its plan found no stack"
    if one is None:
        return f"not served: {_lacking(job, day, shelf)}"
    first = job.open[0]
    if one is first:
        return "its first choice"
    more = one.changes - first.changes
    changed = f"{abs(more)} {'more' if more > 0 else 'fewer'} changed" if more else "as few changed"
    return f"{changed}, misses by {100 * one.miss:.1f} % instead of {100 * first.miss:.1f} %"


def taken_words(one: JobOption) -> str:
    """What a candidate takes from the shelf."""
    shims = (f"{count} of {key.with_hole}" for key, count in sorted(one.taken.items(), reverse=True))
    return ", ".join(shims) or "nothing"


def purchase_words(bought: DayPurchase, offers: Sequence[Offer]) -> str:
    """What to buy so that all jobs are served."""
    label = {offer.key: offer for offer in offers}
    packs = ", ".join(
        f"{count} {'pack' if count == 1 else 'packs'} of {label[key].pack_size} {key.with_hole}"
        + (f" ({label[key].label})" if label[key].label else "")
        for key, count in sorted(bought.packs.items(), reverse=True)
    )
    least = "the smallest purchase, proven" if bought.proven else "not proven the smallest"
    price = f", {bought.price:.2f}" if bought.price else ""
    days = f", there in {bought.days} days" if bought.days else ""
    return f"To serve all of them buy {packs}{price}{days}: {least}."


def _lacking(job: JobOptions, day: DayChoice, shelf: Mapping[ShimKey, int]) -> str:
    """What its first candidate lacks once the others are served."""
    used: dict[ShimKey, int] = {}
    for one in day.chosen.values():
        for key, count in ({} if one is None else one.taken).items():
            used[key] = used.get(key, 0) + count
    short = [
        f"{count} of {key.with_hole}, {max(shelf.get(key, 0) - used.get(key, 0), 0)} left"
        for key, count in sorted(job.open[0].taken.items(), reverse=True)
        if count > shelf.get(key, 0) - used.get(key, 0)
    ]
    return f"candidate {job.open[0].rank} needs {'; '.join(short) or 'measured shims that others get'}"
