"""What the model says of runs on a dyno, as a function of where the damper's unknown figures stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.circuit import circuit
from damping_model.damper.damper import Damper
from damping_model.damper.force import solved
from damping_model.errors import ModelError
from damping_model.stack.lift_table import FIRST_TOP, PER_DECADE, LiftTable, lift_table
from damping_model.stack.steel import SpringSteel
from optimiser.fit.observed import Sample
from optimiser.fit.sample import temperature_of
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution, Unknown
from optimiser.unknowns.varied import varied

Floats = NDArray[np.float64]

FARTHEST: Final = 4.0
"""Draws that a fit looks at, in standard deviations. [-]"""

STEP: Final = 0.2
"""Step of a difference: small beside what is looked at, large beside the error of a lift. [-]"""

SMALL_STEP: Final = 0.01
"""The same for exact slopes: areas bend from click to click, and lifts are good to a millionth. [-]"""

FOR_SLOPES: Final = 16
"""Pressures in a decade of the lift tables that slopes are taken from."""

WARMER: Final = 2.0
"""Step of a difference in temperature. [K]"""

BEYOND: Final = 3.0
"""Lift tables reach this factor beyond the pressures of the damper as its file says. [-]"""

Clicks = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AskedSetting:
    """Velocities at one setting and temperature, with their places among all that is asked.

    Parameters
    ----------
    clicks, temperature : of the damper. [-, K]
    velocities : of the shaft, positive in compression. [m/s]
    places : of these among all.
    """

    clicks: Clicks
    temperature: float
    velocities: Floats
    places: NDArray[np.int64]


def askings(settings: Sequence[tuple[Clicks, float, Floats]]) -> tuple[AskedSetting, ...]:
    """Velocities in a row, gathered by setting and temperature: each is solved once."""
    rows: dict[tuple[Clicks, float], list[tuple[int, float]]] = {}
    place = 0
    for clicks, temperature, velocities in settings:
        for velocity in velocities:
            rows.setdefault((clicks, temperature), []).append((place, float(velocity)))
            place += 1
    return tuple(
        AskedSetting(
            clicks=clicks,
            temperature=temperature,
            velocities=np.array([velocity for _, velocity in found]),
            places=np.array([where for where, _ in found]),
        )
        for (clicks, temperature), found in rows.items()
    )


def of_sample(damper: Damper, sample: Sample) -> tuple[AskedSetting, ...]:
    """What is asked for the points of a sample, in their order."""
    return askings(
        [
            (
                tuple(sorted(stretch.run.clicks.items())),
                temperature_of(damper, stretch.run),
                stretch.velocities,
            )
            for stretch in sample.stretches
        ]
    )


class RunModel:
    """Logarithms of damping at fixed velocities and settings, by where the unknowns stand.

    Parameters
    ----------
    damper : as its file describes it.
    unknowns : that may move.
    asked : velocities with their settings.
    per_decade : pressures in a decade of the lift tables.

    Notes
    -----
    Lift tables are kept by stack, seat and steel, so that a step of a figure of ports or oil costs the
    circuit alone.
    """

    def __init__(
        self,
        damper: Damper,
        unknowns: Sequence[Unknown],
        asked: Sequence[AskedSetting],
        *,
        per_decade: int = PER_DECADE,
    ) -> None:
        self.per_decade = per_decade
        self.damper, self.unknowns, self.asked = damper, tuple(unknowns), tuple(asked)
        self.count = sum(one.velocities.size for one in self.asked)
        self._tops = self._reach()
        self.ends = np.array(
            [
                RECTANGULAR_END if one.distribution is Distribution.RECTANGULAR else FARTHEST
                for one in unknowns
            ]
        )

    def logarithms(self, draws: Floats, *, warmer: float = 0.0) -> Floats:
        """Of the damping against the motion (points,). [ln N]

        Parameters
        ----------
        draws : of the unknowns (unknowns,). [-]
        warmer : that the oil is than what is asked. [K]

        Raises
        ------
        ModelError
            When no such damper can be.
        """
        drawn = varied(self.damper, dict(zip(self.unknowns, draws.tolist(), strict=True)))
        tables = {
            path.name: lift_table(
                path.packed(path.stack, steel=drawn.steel),
                seat=path.seat,
                load=path.face_pressure,
                top=self._tops[path.name],
                per_decade=self.per_decade,
            )
            for path in drawn.damper.stacks
        }
        found = np.zeros(self.count)
        for one in self.asked:
            found[one.places] = _damping(drawn.damper, tables, one, warmer)
        return np.asarray(np.log(found), dtype=np.float64)

    def warmth(self, draws: Floats) -> Floats:
        """Change of each logarithm by the temperature of the oil (points,). [1/K]"""
        cold, warm = (self.logarithms(draws, warmer=side * WARMER) for side in (-1.0, 1.0))
        return (warm - cold) / (2 * WARMER)

    def _reach(self) -> dict[str, float]:
        """Pressure that each stack's table has to reach, far beyond what it feels as the file says. [Pa]"""
        tops = {path.name: FIRST_TOP for path in self.damper.stacks}
        for one in self.asked:
            ready, drops, _ = solved(
                self.damper,
                velocities=one.velocities,
                temperature=one.temperature,
                clicks=dict(one.clicks),
                steel=SpringSteel(),
            )
            for edge, along in zip(ready.edges, drops, strict=True):
                for paths, sign in ((edge.forward, 1.0), (edge.backward, -1.0)):
                    for name, faces in zip(paths.names, paths.face_pressures(sign * along), strict=True):
                        while name in tops and BEYOND * faces.max(initial=0.0) > tops[name]:
                            tops[name] *= 10
        return tops

    def coarser(self, per_decade: int) -> RunModel:
        """The same with other lift tables."""
        return RunModel(self.damper, self.unknowns, self.asked, per_decade=per_decade)

    def exact_slopes(self, draws: Floats) -> Floats:
        """Change of each logarithm by each draw (points, unknowns), for some four times the work. [-]"""
        found = np.zeros((self.count, len(self.unknowns)))
        for place, end in enumerate(self.ends):
            ends = []
            for step in (-SMALL_STEP, SMALL_STEP):
                moved = draws.copy()
                moved[place] = min(max(draws[place] + step, -end), end)
                try:
                    ends.append((moved[place], self.logarithms(moved)))
                except ModelError:
                    ends.append((draws[place], self.logarithms(draws)))
            (low, before), (high, after) = ends
            if high > low:
                found[:, place] = (after - before) / (high - low)
        return found

    def slopes(self, draws: Floats) -> Floats:
        """Change of each logarithm by each draw (points, unknowns), to some per cent. [-]

        Differences of a model with coarser lift tables, which cost less and are off in the same way at both
        ends.
        """
        coarse = self if self.per_decade <= FOR_SLOPES else self.coarser(FOR_SLOPES)
        here = coarse.logarithms(draws)
        found = np.zeros((self.count, len(self.unknowns)))
        for place, end in enumerate(self.ends):
            step = STEP if draws[place] + STEP <= end else -STEP
            found[:, place] = coarse._slope(draws, here, place, step)
        return found

    def _slope(self, draws: Floats, here: Floats, place: int, step: float) -> Floats:
        for towards in (step, -step):
            moved = draws.copy()
            moved[place] += towards
            try:
                return (self.logarithms(moved) - here) / towards
            except ModelError:
                continue
        return np.zeros(self.count)


def _damping(damper: Damper, tables: Mapping[str, LiftTable], asked: AskedSetting, warmer: float) -> Floats:
    """Damping against the motion. [N]"""
    oil = damper.oil.at(temperature=asked.temperature + warmer)
    ready = circuit(damper, oil=oil, clicks=dict(asked.clicks), tables=tables)
    drops, flows = ready.solve(asked.velocities)
    return np.asarray((drops * flows).sum(axis=0) / np.abs(asked.velocities), dtype=np.float64)
