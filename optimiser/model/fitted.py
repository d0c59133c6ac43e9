"""What a description says of the fit to a dyno that its figures come from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A fit that lies beside a damper's file.

    Parameters
    ----------
    place : of the fit's file.
    day : on which it was made.
    runs : that it was made from.
    moved : the figures that it moved most, in words.
    doubts : what speaks against it, in words; empty when nothing does.
    stale : why its figures are not used, in words; empty when they are.
    runs_changed : files of runs that are no longer what was fitted to.
    """

    place: str
    day: str
    runs: int
    moved: tuple[str, ...]
    doubts: str = ""
    stale: str = ""
    runs_changed: tuple[str, ...] = ()
