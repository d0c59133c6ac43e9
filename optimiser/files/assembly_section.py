"""The [assembly] table of a damper file: what whoever closes the damper needs, and no force depends on."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from damping_model.units import BAR, MILLIMETRE
from optimiser.files.base import FileModel
from optimiser.files.bounds import Within
from optimiser.model.assembly import Assembly


class AssemblySection(FileModel):
    """Figures of the maker's manual and of the last service, printed on the build sheet."""

    serial: Annotated[str, Field(max_length=40)] = ""
    """Stamped on the damper, so that two alike are not mixed up."""
    nut_torque_n_m: Annotated[float, Within("assembly.nut_torque_n_m")] | None = None
    """Of the nut on the stack, as the maker's manual has it."""
    oil_level_mm: Annotated[float, Within("assembly.oil_level_mm")] | None = None
    """From where the maker measures it."""
    gas_charge_bar: Annotated[float, Within("assembly.gas_charge_bar")] | None = None
    """Gauge pressure of the gas at rest, as the maker's manual has it; forces are computed with
    reservoir.gas_pressure_bar."""

    def assembly(self) -> Assembly:
        """The same in SI."""
        return Assembly(
            serial=self.serial,
            nut_torque=self.nut_torque_n_m,
            oil_level=None if self.oil_level_mm is None else self.oil_level_mm * MILLIMETRE,
            gas_charge=None if self.gas_charge_bar is None else self.gas_charge_bar * BAR,
        )
