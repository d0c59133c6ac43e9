"""How functions of the search are compiled, and where their code is kept: as those of the physics are."""

from __future__ import annotations

from typing import Final

from damping_model.plates.code_cache import code_folder, compiled_in, source_digest
from damping_model.plates.jit import DIGEST as DIGEST_OF_PHYSICS
from damping_model.plates.jit import PART

__all__ = ["ENTRY", "PART"]

SOURCES: Final = ("optimiser.search.kernel", "damping_model.units")
"""All modules that give functions or constants to compiled code, as modules and packages."""

DIGEST: Final = source_digest(*SOURCES, on=DIGEST_OF_PHYSICS) if DIGEST_OF_PHYSICS else ""
"""Hash of them and of the compiled physics."""

ENTRY: Final = compiled_in(
    code_folder("search", DIGEST), nogil=True, error_model="numpy", no_cfunc_wrapper=True
)
"""For a function that Python calls: kept on disk."""
