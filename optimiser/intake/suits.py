"""Does a delivered damper suit this frame and rider?"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from types import MappingProxyType

from optimiser.errors import InputError
from optimiser.model.percent import share_text


class Verdict(Enum):
    """What to do with a damper as it was delivered."""

    FITS = "fits as it is"
    CLICKS = "fits by clicks"
    SHIMS = "needs shims"
    WRONG = "wrong for this frame"


@dataclass(frozen=True, slots=True)
class WantedBand:
    """What a band must lie in at the wheel, and where it lies.

    Parameters
    ----------
    name : the band.
    least, most : of force at the wheel [N], or of damping ratio [-]; the same for all three.
    got : the delivered damper's.
    velocity : of the wheel, where that is; not negative. [m/s]
    """

    name: str
    least: float
    most: float
    got: float
    velocity: float

    @property
    def off(self) -> float:
        """Distance from the nearer end of the range, as a share; 0 inside, negative when too soft. [-]"""
        if self.got < self.least:
            return self.got / self.least - 1
        return max(self.got / self.most - 1, 0.0)


@dataclass(frozen=True, slots=True)
class Suits:
    """The verdict on a delivered damper.

    Parameters
    ----------
    verdict : what to do.
    clicks : where the adjusters that have to be turned go; empty when none has to.
    changes : fewest shims changed; None unless shims do it.
    proven : whether fewer changes, or any at all, are proven not to do.
    said : the verdict in a sentence, with the figures.
    """

    verdict: Verdict
    clicks: Mapping[str, int]
    changes: int | None
    proven: bool
    said: str


@dataclass(frozen=True, slots=True)
class ShimsNeeded:
    """What a search for a stack found.

    Parameters
    ----------
    changes : fewest shims changed; None when nothing was found.
    proven : whether that is proven, and not merely where time ran out.
    clicks : adjusters that have to be turned as well, and where to.
    """

    changes: int | None
    proven: bool
    clicks: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))


def does_it_suit(
    *,
    bands: Sequence[WantedBand],
    by_clicks: Callable[[], Mapping[str, int] | None],
    by_shims: Callable[[], ShimsNeeded],
) -> Suits:
    """The least that a delivered damper needs: nothing, clicks, shims, or another damper.

    Parameters
    ----------
    bands : wanted and got, with the adjusters as delivered.
    by_clicks : adjuster positions that bring every band in, or None; asked only when something is off.
    by_shims : what the search finds; asked only when clicks do not do.
    """
    if not bands:
        raise InputError("got no band to judge the damper by, expected at least one.")
    for band in bands:
        if not 0 < band.least <= band.most:
            raise InputError(
                f"band '{band.name}': got {band.least:g} to {band.most:g}, expected the least first, above 0."
            )
    off = [band for band in bands if band.off]
    if not off:
        return Suits(Verdict.FITS, {}, None, True, f"All {len(bands)} bands lie where they should.")
    worst = max(off, key=lambda band: abs(band.off))
    figure = f"'{worst.name}' is {share_text(abs(worst.off))} too {'soft' if worst.off < 0 else 'firm'}"
    clicks = by_clicks()
    if clicks is not None:
        words = f"As delivered {figure}; {_settings(clicks)} brings it in."
        return Suits(Verdict.CLICKS, clicks, None, True, words)
    needed = by_shims()
    if needed.changes is not None:
        least = "the least, proven" if needed.proven else "the least found so far"
        beside = f" with {_settings(needed.clicks)}" if needed.clicks else ""
        words = f"{figure} and clicks do not reach it; {_changed(needed.changes)}{beside} ({least})."
        return Suits(Verdict.SHIMS, needed.clicks, needed.changes, needed.proven, words)
    if needed.proven:
        words = f"{figure}; neither clicks nor any stack within the changes allowed brings it in, proven."
        return Suits(Verdict.WRONG, {}, None, True, words)
    words = (
        f"{figure} and clicks do not reach it; no stack was found in the time allowed, "
        "which does not prove that there is none."
    )
    return Suits(Verdict.SHIMS, {}, None, False, words)


def _settings(clicks: Mapping[str, int]) -> str:
    return ", ".join(f"{name} {count} clicks out" for name, count in clicks.items())


def _changed(count: int) -> str:
    return "one shim changed does" if count == 1 else f"{count} shims changed do"
