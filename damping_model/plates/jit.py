"""How functions of the plate model are compiled.

All that a function calls is compiled once more into it, up to the entry: few levels of big functions, each
called from one place, keep the first call in a fresh installation short. So does a loop in place of an array
expression.
"""

from __future__ import annotations

from typing import Final

from numba import njit
from numba.extending import register_jitable

ENTRY: Final = njit(cache=True, nogil=True, error_model="numpy")
"""For a function that Python calls: kept on disk."""

PART: Final = register_jitable(error_model="numpy")
"""For one that compiled functions call, without what Python would need; Python itself runs it uncompiled."""

WRITTEN_IN: Final = njit(error_model="numpy", inline="always")
"""For one that is to be written into its callers: called from one place, or of a few lines."""
