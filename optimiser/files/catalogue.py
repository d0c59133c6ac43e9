"""The catalogue's CSV file: shim types that can be bought, at what price and in what packs."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimiser.files.csv_lines import CsvKind, refuse
from optimiser.files.shelf_line import ShelfLine, faults_of
from optimiser.model.stock import ShimKey

COLUMNS: Final = ("outer_mm", "thickness_mm", "hole_mm", "price", "pack_size", "label", "delivery_days")
KIND: Final = CsvKind("catalogue file", COLUMNS, needed=3)

MOST_PRICE: Final = 100_000
LARGEST_PACK: Final = 10_000
MOST_DAYS: Final = 365

_PRICE: Final = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,4})?")
_PACK: Final = re.compile(r"[0-9]{1,9}")


@dataclass(frozen=True, slots=True)
class Offer:
    """A shim type that can be bought.

    Parameters
    ----------
    key : the type.
    price : of one piece, in whatever currency the shop counts in; None when it is not known.
    pack_size : pieces that are sold together.
    label : the shop's own words, as an order number.
    delivery_days : until it is there; None when it is not known.
    """

    key: ShimKey
    price: float | None = None
    pack_size: int = 1
    label: str = ""
    delivery_days: int | None = None

    def packs(self, pieces: int) -> int:
        """Packs that have to be bought for a number of pieces."""
        return math.ceil(pieces / self.pack_size)

    def cost(self, pieces: int) -> float | None:
        """What the packs for a number of pieces cost; None when the price is not known."""
        return None if self.price is None else self.packs(pieces) * self.pack_size * self.price


def read_catalogue(path: Path) -> tuple[Offer, ...]:
    """Read a catalogue file.

    Parameters
    ----------
    path : CSV with a header, written like a shelf file.

    Raises
    ------
    InputError
        Naming file, line and field, what was got, what was expected and the way out; all faults at once.
    """
    return catalogue_from_text(KIND.text_of(path), name=str(path))


def catalogue_from_text(text: str, *, name: str) -> tuple[Offer, ...]:
    """Read the text of a catalogue file; ``name`` stands for the file in messages."""
    offers: list[Offer] = []
    faults: list[str] = []
    seen: dict[ShimKey, int] = {}
    for line, cells in KIND.lines(text, name=name):
        where = f"{name}:{line}"
        found = _offer(cells, where)
        if isinstance(found, list):
            faults += found
        elif found.key in seen:
            faults.append(
                f"{where}: got {found.key} with a {found.key.inner / 1000:g} mm hole a second time, "
                f"first on line {seen[found.key]}; expected one line a type. Keep the better offer."
            )
        else:
            seen[found.key] = line
            offers.append(found)
    if not offers and not faults:
        faults.append(f"{name}: got no line below the header, expected a shim type a line. Add what is sold.")
    refuse(faults)
    return tuple(offers)


def _offer(cells: dict[str, str] | list[str], where: str) -> Offer | list[str]:
    if isinstance(cells, list):
        return cells
    # A catalogue has no counts; the rest of a line is held to what the shelf's lines are held to.
    line = faults_of({**cells, "count": "0"}, where=where)
    faults = [] if isinstance(line, ShelfLine) else list(line)
    price, pack, days = (cells.get(column, "") for column in ("price", "pack_size", "delivery_days"))
    if price and not (_PRICE.fullmatch(price) and _number(price) <= MOST_PRICE):
        faults.append(
            f"{where}: price: got {price[:40]!r}; expected the price of one piece from 0 to {MOST_PRICE}, "
            "such as 1.90, without a currency. Leave the cell empty when it is not known."
        )
    if pack and not (_PACK.fullmatch(pack) and 1 <= int(pack) <= LARGEST_PACK):
        faults.append(
            f"{where}: pack_size: got {pack[:40]!r}; expected a whole number of pieces from 1 to "
            f"{LARGEST_PACK}. Leave the cell empty when single pieces are sold."
        )
    if days and not (_PACK.fullmatch(days) and int(days) <= MOST_DAYS):
        faults.append(
            f"{where}: delivery_days: got {days[:40]!r}; expected whole days from 0 to {MOST_DAYS}. "
            "Leave the cell empty when it is not known."
        )
    if isinstance(line, list) or faults:
        return faults
    key = ShimKey.from_millimetres(outer=line.outer_mm, thickness=line.thickness_mm, inner=line.hole_mm)
    return Offer(
        key,
        _number(price) if price else None,
        int(pack) if pack else 1,
        line.label,
        int(days) if days else None,
    )


def _number(text: str) -> float:
    return float(text.replace(",", "."))
