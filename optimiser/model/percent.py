"""Shares as people read them: the one way that percentages are written in sentences, tables, pictures."""

from __future__ import annotations

import math
from typing import Final

TRUE_MINUS: Final = "\N{MINUS SIGN}"


def percent_text(share: float, decimals: int = 1, *, signed: bool = True) -> str:
    """Write a change [-] as a percentage, with its sign and a true minus; a dash when there is none.

    >>> percent_text(0.0634), percent_text(-0.2, 0)
    ('+6.3 %', '−20 %')
    """
    if math.isnan(share):
        return "\N{EN DASH}"
    plain = f"{100 * share:.{decimals}f}"
    if float(plain) == 0:
        return "0 %"
    sign = "+" if signed and share > 0 else ""
    return f"{sign}{plain} %".replace("-", TRUE_MINUS)


def share_text(share: float, decimals: int = 0) -> str:
    """Write a share [-] of something, without a sign of its own.

    >>> share_text(0.27), share_text(0.0634, 1)
    ('27 %', '6.3 %')
    """
    return percent_text(share, decimals, signed=False)


def points_text(share: float) -> str:
    """Write a difference between two changes [-], in points.

    >>> points_text(0.0096), points_text(0.01), points_text(0.213), points_text(1.074)
    ('0.96 points', '1 point', '21 points', '107 points')
    """
    points = f"{100 * share:.{2 if share < 0.995 else 3}g}"
    return f"{points} {'point' if points == '1' else 'points'}"
