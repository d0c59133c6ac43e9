"""A complaint that is felt at one end of a machine, and a damper that sits at another."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from optimiser.intake.basics import BasicsFinding

ANY: Final = "either"
"""The end of a symptom that may be felt anywhere."""


@dataclass(frozen=True, slots=True)
class OtherEnd:
    """Where a complaint is felt, and where the damper is.

    Parameters
    ----------
    felt : the end that the symptom or the job names.
    sits : the end, or ends, at which the damper's stroke fits a wheel.
    """

    felt: str
    sits: str

    @property
    def said(self) -> str:
        """Both in a sentence."""
        return f"This symptom is felt at the {self.felt}; the damper of this job sits at the {self.sits}."

    @property
    def finding(self) -> BasicsFinding:
        """What every answer to the job carries; it does not stop a plan."""
        return BasicsFinding(
            what="end of the complaint",
            got=f"one that is felt at the {self.felt}",
            expected=f"one that is felt at the {self.sits}, where the damper of this job sits",
            do_this=f"Planned all the same. Look at the {self.felt} first.",
            why="What changes one end of a machine is felt at the other, but nobody can say how much.",
            stops=False,
        )


def other_end(felt: str, sits: Collection[str]) -> OtherEnd | None:
    """Whether a complaint is felt at another end than the damper's; None when it is not, or not known.

    Parameters
    ----------
    felt : the end that is named; 'either' for any.
    sits : the ends that the damper may sit at; none when that is not known.
    """
    if felt == ANY or not sits or felt in sits:
        return None
    return OtherEnd(felt, " or ".join(sorted(sits)))
