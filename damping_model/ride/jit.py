"""How the equations of motion are compiled, and where their code is kept: as those of the plates are."""

from __future__ import annotations

from typing import Final

from damping_model.plates.code_cache import code_folder, compiled_in, source_digest
from damping_model.plates.jit import PART

__all__ = ["ENTRY", "PART"]

SOURCES: Final = ("damping_model.ride.kernel", "damping_model.ride.jit", "damping_model.units")
"""All modules that give functions or constants to compiled code."""

ENTRY: Final = compiled_in(
    code_folder("ride", source_digest(*SOURCES)), nogil=True, error_model="numpy", no_cfunc_wrapper=True
)
"""For a function that Python calls: kept on disk."""
