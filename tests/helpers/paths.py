"""Where the project's files are."""

from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[2]
DEMO: Final = ROOT / "inventory_demo"
