"""What can be loosened: a held band's tolerance, or the shift that a target asks for, one number each.

All limits of a target rise with the shift that it asks for, and those of a held band widen with its
tolerance. So the values under which given forces are allowed are one stretch, and its end nearest to the
present value is the smallest loosening that these forces need.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, ROUND_UP, Context, Decimal
from enum import Enum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.errors import InputError
from optimiser.intake.adjusted import shift_of, with_shift
from optimiser.intake.bands import RIGHT_WAY, TargetBand
from optimiser.intake.goal_builder import target_window
from optimiser.model.goal import Average, Goal, Role, Window, mean_change

Floats = NDArray[np.float64]

LEAST_PART: Final = 1 / 3
"""Part of a shift below which nobody would still call it that shift; common practice, no source. [-]"""

MOST_PART: Final = 2.0
"""Part of a shift above which nobody would still call it that shift; common practice, no source. [-]"""

NO_LONGER_HELD: Final = 1.0
"""A band with a tolerance as wide as this is not held. [-]"""

HALVINGS: Final = 60
"""Of the stretch in which the end of what is allowed is sought. [-]"""

ROOM: Final = 1e-6
"""Share by which a figure is loosened beyond what is needed, before it is rounded. [-]"""


class Kind(Enum):
    """What is loosened."""

    HOLD = "hold"
    """The tolerance of a held band."""

    SHIFT = "ask"
    """The shift of a target, on average."""

    FAMILIARITY = "familiarity"
    """The limit on a stretch that no band covers."""


@dataclass(frozen=True, slots=True)
class Loosenable:
    """One window and the number that it depends on.

    Parameters
    ----------
    place : of the window in the goal.
    name : of the window.
    kind : what the number is.
    present : the number now, as a share of the force before. [-]
    least, most : what it may become. [-]
    at : the window for another number.
    """

    place: int
    name: str
    kind: Kind
    present: float
    least: float
    most: float
    at: Callable[[float], Window]

    def closest(self, forces: Floats) -> float | None:
        """The value closest to the present one that allows these forces [N]; None where none does. [-]"""
        if self.kind is not Kind.SHIFT:
            window = self.at(self.present)
            needed = max(float(np.abs(forces / np.array(window.before) - 1).max()), self.present)
            return needed if needed <= self.most else None
        low = self._end(forces, 1)
        high = self._end(forces, -1)
        if low is None or high is None or low > high:
            return None
        return min(max(self.present, low), high)

    def hull(self, distance: float) -> Window:
        """What values less far than this from the present one allow, taken together."""
        low, high = max(self.least, self.present - distance), min(self.most, self.present + distance)
        if self.kind is not Kind.SHIFT:
            return self.at(high)
        one, other = self.at(low), self.at(high)
        average = None
        if one.average is not None and other.average is not None:
            average = Average(one.average.lower, other.average.desired, other.average.upper)
        return replace(other, lower=one.lower, average=average)

    def figure(self, value: float, forces: Floats) -> str:
        """A value in percent as it is typed: with three digits, or with as many as these forces [N] need."""
        away = self.kind is not Kind.SHIFT or abs(value) > abs(self.present)
        exact = Decimal(100 * abs(value)) * Decimal(1 + (ROOM if away else -ROOM))
        for digits in range(3, 12):
            rounding = Context(prec=digits, rounding=ROUND_UP if away else ROUND_DOWN)
            figure = rounding.create_decimal(exact)
            if is_met(self.at(float(figure.copy_sign(Decimal(value))) / 100), forces):
                break
        text = f"{figure:f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return f"-{text}" if value < 0 else text

    def _end(self, forces: Floats, side: int) -> float | None:
        """The least value whose upper limits allow the forces, or the most whose lower limits do."""
        good, bad = (self.most, self.least) if side == 1 else (self.least, self.most)
        if not _allows(self.at(good), forces, side):
            return None
        if _allows(self.at(bad), forces, side):
            return bad
        for _ in range(HALVINGS):
            middle = (good + bad) / 2
            if _allows(self.at(middle), forces, side):
                good = middle
            else:
                bad = middle
        return good


def loosenable_windows(
    goal: Goal,
    *,
    targets: Sequence[TargetBand],
    familiarity: float | None,
    right_way: tuple[float, float] = RIGHT_WAY,
) -> tuple[Loosenable, ...]:
    """Every window of a goal that can be loosened by its name.

    Parameters
    ----------
    goal : as :func:`optimiser.intake.goal_builder.goal_from_bands` makes it.
    targets : the bands of its first windows.
    familiarity : the limit that targets keep to besides; None for none. [-]
    right_way : parts of the shift that each velocity of a target moves by, at least and at most. [-]
    """
    count = Counter(window.name for window in goal.windows)
    found: list[Loosenable] = []
    for place, window in enumerate(goal.windows):
        if count[window.name] > 1:
            continue
        if window.role in _HELD:
            found += _held(place, window)
        elif place < len(targets):
            found.append(_target(place, window, targets[place], familiarity, right_way))
    return tuple(found)


_HELD: Final = {Role.HOLD: Kind.HOLD, Role.FAMILIARITY: Kind.FAMILIARITY}


def _held(place: int, window: Window) -> Iterator[Loosenable]:
    before = np.array(window.before)
    present = float(np.max(np.array(window.upper) / before)) - 1

    def at(tolerance: float) -> Window:
        lower, upper = before * max(1 - tolerance, 0.0), before * (1 + tolerance)
        return replace(window, lower=tuple(map(float, lower)), upper=tuple(map(float, upper)))

    if present < NO_LONGER_HELD:
        yield Loosenable(place, window.name, _HELD[window.role], present, present, NO_LONGER_HELD, at)


def _target(
    place: int,
    window: Window,
    band: TargetBand,
    familiarity: float | None,
    right_way: tuple[float, float],
) -> Loosenable:
    before, velocities = np.array(window.before), np.array(window.velocities)

    def at(shift: float) -> Window:
        asked = with_shift(band, shift, before, velocities)
        return target_window(asked, lambda _: before, velocities.size, familiarity, right_way)

    present = shift_of(band, before, velocities)
    least, most = sorted((LEAST_PART * present, _furthest(present, at)))
    return Loosenable(place, window.name, Kind.SHIFT, present, least, most, at)


def _furthest(present: float, at: Callable[[float], Window]) -> float:
    """A larger shift that may be asked for as well, or the present one."""
    for part in np.linspace(MOST_PART, 1.0, 11)[:-1]:
        try:
            at(float(part * present))
        except InputError:
            continue
        return float(part * present)
    return present


def is_met(window: Window, forces: Floats) -> bool:
    """Whether forces [N] lie within every limit of a window."""
    return _allows(window, forces, 1) and _allows(window, forces, -1)


def _allows(window: Window, forces: Floats, side: int) -> bool:
    """Whether forces keep to the upper limits of a window, or to the lower ones."""
    limits = np.array(window.upper if side == 1 else window.lower)
    if (side * (forces - limits) > 0).any():
        return False
    if window.average is None:
        return True
    limit = window.average.upper if side == 1 else window.average.lower
    return side * (float(mean_change(window, forces)) - limit) <= 0
