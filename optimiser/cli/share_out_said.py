"""What became of a day's shelf, for people and for programs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from optimiser.cli.ledger_options import type_keys
from optimiser.cli.saying import say

if TYPE_CHECKING:
    from optimiser.actions.share_out import SharedShelf
    from optimiser.allocation.job_options import JobOptions
    from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class SharedOut:
    """The day as people and programs read it."""

    shared: SharedShelf
    reserved: bool

    def document(self) -> dict[str, Any]:
        """For programs."""
        from optimiser.report.share_out_text import cost_words

        shared, bought = self.shared, self.shared.bought
        return {
            "format": "shimwright share-out 1",
            "proven": shared.day.proven,
            "reserved": self.reserved,
            "jobs": [
                {
                    "job": job.name,
                    "pick": None if (one := shared.day.chosen[job.name]) is None else one.rank,
                    "cost": cost_words(job, shared.day, shared.shelf),
                    "taken": [] if one is None else _counted(one.taken),
                }
                for job in shared.jobs
            ],
            "purchase": None
            if bought is None
            else {
                "price": round(bought.price, 2),
                "days": bought.days,
                "proven": bought.proven,
                "packs": [type_keys(key) | {"packs": count} for key, count in bought.packs.items()],
            },
        }

    def print(self) -> None:
        """For people: who gets what, what it costs each job, what is lacking, what to type next."""
        from optimiser.cli.plain_table import show_table
        from optimiser.report.share_out_text import purchase_words, served_words

        shared = self.shared
        show_table(
            ("Job", "Candidate", "Changes", "From the shelf", "Beside its first choice"),
            [self._row(job) for job in shared.jobs],
            numbers=(1, 2),
            empty="No job.",
        )
        say(served_words(shared.jobs, shared.day))
        served, most = len(shared.day.served), sum(bool(job.open) for job in shared.jobs)
        if shared.bought is not None:
            say(purchase_words(shared.bought, shared.offers))
        elif served < most and shared.offers:
            say("No purchase from this catalogue serves all of them.")
        if self.reserved:
            say(
                "Reserved, all of it. For the sheet of each: shimwright build JOB. If one is not built: "
                "shimwright release JOB."
            )
        elif served:
            say("Nothing is reserved yet. The same with --reserve does it.")

    def _row(self, job: JobOptions) -> tuple[str, ...]:
        from optimiser.report.share_out_text import cost_words, taken_words

        one = self.shared.day.chosen[job.name]
        cost = cost_words(job, self.shared.day, self.shared.shelf)
        if one is None:
            return job.name, "-", "-", "-", cost
        return job.name, str(one.rank), str(one.changes), taken_words(one), cost


def _counted(taken: Mapping[ShimKey, int]) -> list[dict[str, float]]:
    return [type_keys(key) | {"count": count} for key, count in sorted(taken.items(), reverse=True)]
