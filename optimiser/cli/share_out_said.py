"""What became of a day's shelf, for people and for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from optimiser.cli.ledger_options import type_keys, with_hole
from optimiser.cli.saying import say

if TYPE_CHECKING:
    from optimiser.allocation.day_choice import DayChoice
    from optimiser.allocation.job_options import JobOption, JobOptions
    from optimiser.allocation.purchase import DayPurchase
    from optimiser.files.catalogue import Offer
    from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class SharedOut:
    """The day as people and programs read it."""

    jobs: Sequence[JobOptions]
    day: DayChoice
    shelf: Mapping[ShimKey, int]
    offers: Sequence[Offer]
    bought: DayPurchase | None
    reserved: bool

    def document(self) -> dict[str, Any]:
        """For programs."""
        return {
            "format": "shimwright share-out 1",
            "proven": self.day.proven,
            "reserved": self.reserved,
            "jobs": [
                {
                    "job": job.name,
                    "pick": None if (one := self.day.chosen[job.name]) is None else one.rank,
                    "cost": self._cost(job, one),
                    "taken": [] if one is None else _counted(one.taken),
                }
                for job in self.jobs
            ],
            "purchase": None
            if self.bought is None
            else {
                "price": round(self.bought.price, 2),
                "days": self.bought.days,
                "proven": self.bought.proven,
                "packs": [type_keys(key) | {"packs": count} for key, count in self.bought.packs.items()],
            },
        }

    def print(self) -> None:
        """For people: who gets what, what it costs each job, what is lacking, what to type next."""
        from optimiser.cli.plain_table import show_table

        show_table(
            ("Job", "Candidate", "Changes", "From the shelf", "Beside its first choice"),
            [self._row(job) for job in self.jobs],
            numbers=(1, 2),
            empty="No job.",
        )
        served, most = len(self.day.served), sum(bool(job.open) for job in self.jobs)
        best = "proven the best" if self.day.proven else "the best found in the time, not proven"
        say(f"{served} of {most} jobs that a stack serves, {best}.")
        if self.bought is not None:
            say(self._purchase(self.bought))
        elif served < most and self.offers:
            say("No purchase from this catalogue serves all of them.")
        if self.reserved:
            say(
                "Reserved, all of it. For the sheet of each: shimwright build JOB. If one is not built: "
                "shimwright release JOB."
            )
        elif served:
            say("Nothing is reserved yet. The same with --reserve does it.")

    def _row(self, job: JobOptions) -> tuple[str, ...]:
        one = self.day.chosen[job.name]
        if one is None:
            return job.name, "-", "-", "-", self._cost(job, one)
        shims = ", ".join(
            f"{count} of {with_hole(key)}" for key, count in sorted(one.taken.items(), reverse=True)
        )
        return job.name, str(one.rank), str(one.changes), shims or "nothing", self._cost(job, one)

    def _cost(self, job: JobOptions, one: JobOption | None) -> str:
        if not job.options:
            return "its plan found no stack"
        if one is None:
            return f"not served: {self._lacking(job)}"
        first = job.open[0]
        if one is first:
            return "its first choice"
        more = one.changes - first.changes
        changed = f"{abs(more)} {'more' if more > 0 else 'fewer'} changed" if more else "as few changed"
        return f"{changed}, misses by {100 * one.miss:.1f} % instead of {100 * first.miss:.1f} %"

    def _lacking(self, job: JobOptions) -> str:
        """What its first candidate lacks once the others are served."""
        used: dict[ShimKey, int] = {}
        for one in self.day.chosen.values():
            for key, count in ({} if one is None else one.taken).items():
                used[key] = used.get(key, 0) + count
        short = [
            f"{count} of {with_hole(key)}, {max(self.shelf.get(key, 0) - used.get(key, 0), 0)} left"
            for key, count in sorted(job.open[0].taken.items(), reverse=True)
            if count > self.shelf.get(key, 0) - used.get(key, 0)
        ]
        return f"candidate {job.open[0].rank} needs {'; '.join(short) or 'measured shims that others get'}"

    def _purchase(self, bought: DayPurchase) -> str:
        label = {offer.key: offer for offer in self.offers}
        packs = ", ".join(
            f"{count} {'pack' if count == 1 else 'packs'} of {label[key].pack_size} {with_hole(key)}"
            + (f" ({label[key].label})" if label[key].label else "")
            for key, count in sorted(bought.packs.items(), reverse=True)
        )
        least = "the smallest purchase, proven" if bought.proven else "not proven the smallest"
        price = f", {bought.price:.2f}" if bought.price else ""
        days = f", there in {bought.days} days" if bought.days else ""
        return f"To serve all of them buy {packs}{price}{days}: {least}."


def _counted(taken: Mapping[ShimKey, int]) -> list[dict[str, float]]:
    return [type_keys(key) | {"count": count} for key, count in sorted(taken.items(), reverse=True)]
