"""Where the project's files are."""

from pathlib import Path
from typing import Final

import optimiser

ROOT: Final = Path(__file__).parents[2]
SITE: Final = Path(optimiser.__file__).parents[1]
"""Where this very package lies, for processes that a test begins: elsewhere they would compile all of it again."""

DEMO: Final = ROOT / "inventory_demo"

STIFF_SHOP: Final = ROOT / "tests" / "data" / "stiff_shop"
"""A shop for tests, whose dampers are one and a half to three times as firm as real ones of their kind.

It does not change with the demo shop, so that a test may count on its figures.
"""
