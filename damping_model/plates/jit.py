"""How functions of the physics are compiled.

All that a function calls is compiled once more into it, up to the entry: few levels of big functions, each
called from one place, keep the first call in a fresh installation short. So does a loop in place of an array
expression.
"""

from __future__ import annotations

from typing import Any, Final

from numba import njit
from numba.extending import register_jitable

from damping_model.plates.code_cache import code_folder, compiled_in, source_digest

SOURCES: Final = ("damping_model.plates", "damping_model.flow.lift_kernel", "damping_model.flow.flow_kernel")
"""All modules that give functions or constants to compiled code, as modules and packages."""

DIGEST: Final = source_digest(*SOURCES)
"""Hash of them: code that is compiled from them goes by it."""

_FOLDER: Final = code_folder("physics", DIGEST)

_LIGHT: Final[dict[str, Any]] = {"error_model": "numpy", "no_cfunc_wrapper": True}
"""Nothing asks for the address of a function as C does, and each wrapper for that takes time to compile."""

_UNCOUNTED: Final[dict[str, Any]] = _LIGHT | {"_nrt": False}
"""Arrays belong to whoever calls. To count each use of one took a sixth of a lift curve's time."""

ENTRY: Final = compiled_in(_FOLDER, nogil=True, **_LIGHT)
"""For a function that Python calls: kept on disk."""

UNCOUNTED_ENTRY: Final = compiled_in(_FOLDER, nogil=True, **_UNCOUNTED)
"""The same for one that makes no array."""

CHECKED_ENTRY: Final = compiled_in(_FOLDER, nogil=True, **_LIGHT | {"error_model": "python"})
"""The same, but a division by zero raises."""

PIECE: Final = compiled_in(_FOLDER, nogil=True, no_cpython_wrapper=True, **_UNCOUNTED)
"""For a large one that compiled functions call and that makes no array: kept on disk, so that two processes
share the compiling."""

PART: Final = register_jitable(**_LIGHT)
"""For one that compiled functions call, without what Python would need; Python itself runs it uncompiled."""

UNCOUNTED: Final = register_jitable(**_UNCOUNTED)
"""The same for one that makes no array."""

WRITTEN_IN: Final = njit(inline="always", **_LIGHT)
"""For one that is to be written into its callers: called from one place, or of a few lines."""
