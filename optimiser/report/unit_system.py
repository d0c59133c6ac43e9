"""How quantities are written for people: metric or imperial, shims always as the drawer names them."""

from __future__ import annotations

from enum import Enum

from damping_model.units import BAR, INCH, MEGAPASCAL, MILLIMETRE, POUND_FORCE, POUND_PER_SQUARE_INCH


class UnitSystem(Enum):
    """Which units a person reads.

    Shim sizes stay in mm in both: that is what is printed on the packet and on the drawer.
    """

    METRIC = "metric"
    IMPERIAL = "imperial"

    @property
    def force_unit(self) -> str:
        """Unit of forces."""
        return "N" if self is UnitSystem.METRIC else "lbf"

    @property
    def velocity_unit(self) -> str:
        """Unit of velocities."""
        return "m/s" if self is UnitSystem.METRIC else "in/s"

    @property
    def length_unit(self) -> str:
        """Unit of heights and spacers."""
        return "mm" if self is UnitSystem.METRIC else "in"

    @property
    def pressure_unit(self) -> str:
        """Unit of pressures."""
        return "bar" if self is UnitSystem.METRIC else "psi"

    def force(self, newtons: float) -> float:
        """Number for a force [N] in this system's unit."""
        return newtons if self is UnitSystem.METRIC else newtons / POUND_FORCE

    def velocity(self, metres_per_second: float) -> float:
        """Number for a velocity [m/s] in this system's unit."""
        return metres_per_second if self is UnitSystem.METRIC else metres_per_second / INCH

    def length(self, metres: float) -> float:
        """Number for a length [m] in this system's unit."""
        return metres / (MILLIMETRE if self is UnitSystem.METRIC else INCH)

    def pressure(self, pascals: float) -> float:
        """Number for a pressure [Pa] in this system's unit."""
        return pascals / (BAR if self is UnitSystem.METRIC else POUND_PER_SQUARE_INCH)

    def stiffness(self, newtons_per_metre: float) -> float:
        """Number for a spring's rate [N/m] in this system's unit."""
        return newtons_per_metre / (1 / MILLIMETRE if self is UnitSystem.METRIC else POUND_FORCE / INCH)

    def force_text(self, newtons: float) -> str:
        """Write a force [N]: a tenth where whole numbers would hide the change."""
        value = self.force(newtons)
        return _signless_zero(f"{value:.1f}" if abs(value) < 100 else f"{value:.0f}")

    def velocity_text(self, metres_per_second: float) -> str:
        """Write a velocity [m/s] to the figures that a band is given in."""
        return f"{self.velocity(abs(metres_per_second)):.3g}"

    def span_text(self, low: float, high: float) -> str:
        """Write a range of velocity with its unit. [m/s]"""
        first, last = self.velocity_text(low), self.velocity_text(high)
        return f"{first} {self.velocity_unit}" if first == last else f"{first} to {last} {self.velocity_unit}"

    def length_text(self, metres: float) -> str:
        """Write a height or a spacer [m] with its unit, to a hundredth of a mm or as fine in inches."""
        decimals = 2 if self is UnitSystem.METRIC else 4
        return f"{_signless_zero(f'{self.length(metres):.{decimals}f}')} {self.length_unit}"

    def pressure_text(self, pascals: float) -> str:
        """Write a pressure [Pa] with its unit, to three figures."""
        return f"{self.pressure(pascals):.3g} {self.pressure_unit}"

    def stress_text(self, pascals: float) -> str:
        """Write a stress [Pa] with its unit."""
        if self is UnitSystem.METRIC:
            return f"{pascals / MEGAPASCAL:.0f} MPa"
        return f"{pascals / POUND_PER_SQUARE_INCH / 1000:.0f} ksi"

    def stiffness_text(self, newtons_per_metre: float) -> str:
        """Write a spring's rate [N/m] with its unit, to three figures."""
        unit = "N/mm" if self is UnitSystem.METRIC else "lbf/in"
        return f"{self.stiffness(newtons_per_metre):.3g} {unit}"

    def torque_text(self, newton_metres: float) -> str:
        """Write a torque [N m] with its unit, to two figures."""
        if self is UnitSystem.METRIC:
            return f"{newton_metres:.2g} N m"
        return f"{newton_metres / (POUND_FORCE * INCH):.2g} lbf in"

    def travel_text(self, metres: float) -> str:
        """Write a stroke or a sag [m] with its unit: whole mm, tenths of an inch."""
        decimals = 0 if self is UnitSystem.METRIC else 1
        written = _signless_zero(f"{self.length(metres):.{decimals}f}").replace("-", "−")
        return f"{written} {self.length_unit}"


def _signless_zero(text: str) -> str:
    """Text of a number, without the minus that rounding may leave on zero."""
    return text.removeprefix("-") if float(text) == 0 else text
