"""A season's purchases for people and for programs: the curve, and what to hold at a price."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from optimiser.cli.ledger_options import type_keys, with_hole
from optimiser.cli.saying import say

if TYPE_CHECKING:
    from optimiser.allocation.season import SeasonCurve, SeasonPoint
    from optimiser.files.catalogue import Offer
    from optimiser.jobs.season_ways import SeasonWays
    from optimiser.model.stock import ShimKey

BAR: Final = 20
"""Length of the bar that stands for all jobs of the season, in characters."""


@dataclass(frozen=True, slots=True)
class SeasonSaid:
    """The season as people and programs read it."""

    curve: SeasonCurve
    ways: Mapping[str, SeasonWays]
    times: Mapping[str, int]
    shelf: Mapping[ShimKey, int]
    offers: Sequence[Offer]
    spend: float | None

    def document(self) -> dict[str, Any]:
        """For programs."""
        return {
            "format": "shimwright season 1",
            "asked": self.curve.asked,
            "proven": self.curve.proven,
            "unpriced": self._unpriced,
            "jobs": [
                {
                    "job": name,
                    "times": self.times[name],
                    "counted": found.counted,
                    "finding": found.finding.value,
                    "ways": len(found.options),
                }
                for name, found in self.ways.items()
            ],
            "points": [self._point(point) for point in self.curve.points],
            "shown": self.curve.points.index(self._shown),
        }

    def print(self) -> None:
        """For people: the curve, what is out of reach, what to hold."""
        from optimiser.cli.plain_table import show_table

        say(f"{self.curve.asked} jobs in the season.")
        show_table(
            ("Price", "Within reach", "", "To buy"),
            [self._row(point) for point in self.curve.points],
            numbers=(0,),
            empty="No purchase.",
        )
        say("\n".join(self._proof()))
        for words in self._out_of_reach():
            say(words)
        shown = self._shown
        say(f"\nTo hold for {shown.price:.2f}, with {shown.served} of {self.curve.asked} jobs within reach:")
        show_table(
            ("Type", "On the shelf", "The season takes", "To buy"),
            [self._held(shown, key) for key in sorted(shown.used, reverse=True)],
            numbers=(1, 2),
            empty="Nothing: no job of the season takes a shim.",
        )

    @property
    def _shown(self) -> SeasonPoint:
        """The dearest point, or the dearest within what may be spent."""
        within = [one for one in self.curve.points if self.spend is None or one.price <= self.spend]
        return within[-1]

    @property
    def _unpriced(self) -> int:
        return sum(one.price is None for one in self.offers)

    def _row(self, point: SeasonPoint) -> tuple[str, ...]:
        asked = self.curve.asked
        full = BAR * point.served // asked if asked else 0
        bought = [self._packs(key, count) for key, count in sorted(point.packs.items(), reverse=True)]
        return (
            f"{point.price:.2f}",
            f"{point.served} of {asked}",
            "█" * full + "░" * (BAR - full),
            "; ".join(bought) or "nothing",
        )

    def _packs(self, key: ShimKey, count: int) -> str:
        offer = next(one for one in self.offers if one.key == key)
        packs = f"{count} of" if offer.pack_size == 1 else f"{count} x {offer.pack_size} of"
        return f"{packs} {with_hole(key)}" + (f" ({offer.label})" if offer.label else "")

    def _held(self, point: SeasonPoint, key: ShimKey) -> tuple[str, ...]:
        packs = point.packs.get(key, 0)
        bought = self._packs(key, packs) if packs else "-"
        return with_hole(key), str(self.shelf.get(key, 0)), str(point.used[key]), bought

    def _proof(self) -> Iterator[str]:
        yield (
            "Proven: no cheaper purchase keeps as many jobs within reach"
            if self.curve.proven
            else "The best found in the time, not proven"
        ) + ", of the ways that the searches found."
        if self._unpriced:
            yield f"Types without a price were left out: {self._unpriced}."

    def _out_of_reach(self) -> Iterator[str]:
        """What becomes of the jobs that no purchase serves as often as they come."""
        last = self.curve.points[-1]
        for name, found in self.ways.items():
            if not found.counted:
                yield f"{name}: {found.finding.value}, not counted."
            elif not found.options:
                yield f"{name}: {found.finding.value}."
            elif (served := len(last.chosen[name])) < self.times[name]:
                yield f"{name}: {served} of {self.times[name]} at any price: the rest it needs is not sold."

    def _point(self, point: SeasonPoint) -> dict[str, Any]:
        return {
            "price": point.price,
            "served": point.served,
            "proven": point.proven,
            "buy": [
                type_keys(key) | {"packs": count} for key, count in sorted(point.packs.items(), reverse=True)
            ],
            "takes": [
                type_keys(key) | {"count": count} for key, count in sorted(point.used.items(), reverse=True)
            ],
            "jobs": {name: len(built) for name, built in point.chosen.items()},
        }
