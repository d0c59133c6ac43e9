"""What a tuner puts a damper together by, beside its shims: figures of the maker and of the last service."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """What the shop has written down for whoever closes the damper; None for what it has not.

    Parameters
    ----------
    serial : stamped on the damper; empty when nobody wrote it down.
    nut_torque : of the nut on the stack. [N m]
    oil_level : from where the maker measures it. [m]
    gas_charge : gauge pressure that the gas is charged to at rest. [Pa]
    """

    serial: str = ""
    nut_torque: float | None = None
    oil_level: float | None = None
    gas_charge: float | None = None


NOTHING_WRITTEN: Final = Assembly()
"""Of a damper that nobody has written anything down for."""
