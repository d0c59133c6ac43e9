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
    against : what speaks against it, in words; empty when nothing does.
    stale : why its figures are not used, in words; empty when they are.
    runs_changed : files of runs that are no longer what was fitted to.
    run_files : files of runs that still are, while the stacks on the dyno are still in the damper.
    """

    place: str
    day: str
    runs: int
    moved: tuple[str, ...]
    against: str = ""
    stale: str = ""
    runs_changed: tuple[str, ...] = ()
    run_files: tuple[str, ...] = ()

    @property
    def from_runs(self) -> str:
        """What it was made from, in words."""
        return f"{'1 run' if self.runs == 1 else f'{self.runs} runs'} of {self.day}"


def fitted_words(fit: Fitted, file: str) -> str:
    """That a description's figures come from a fit, or why they do not, in a sentence or two."""
    if fit.stale:
        return (
            f"Mind: the fit to {fit.from_runs} is stale, since {fit.stale}; {file} is taken as it is "
            f"written. Fit it again: shimwright fit {file} RUNS --write."
        )
    changed = f" {', '.join(fit.runs_changed)} changed since: fit it again." if fit.runs_changed else ""
    against = f" {fit.against}" if fit.against else ""
    moved = "; ".join(fit.moved) or "none moved to speak of"
    return f"Figures from {fit.from_runs} on the dyno: {moved}.{against}{changed}"
