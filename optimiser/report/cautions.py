"""Cautions as data: what every sheet says before anyone is hurt."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final


class When(Enum):
    """Which sheets a caution belongs on."""

    ALWAYS = "always"
    OPENED = "the damper is opened"
    GAS = "a gas-charged damper is opened"
    NO_GAS = "a damper without gas is opened"
    GAS_FILLED = "the gas pressure becomes another one"
    NEAREST = "the goal is not reached"


@dataclass(frozen=True, slots=True)
class Caution:
    """One sentence of warning.

    Parameters
    ----------
    sentence : what to mind.
    when : on which sheets it stands.
    """

    sentence: str
    when: When


CAUTIONS: Final = (
    Caution(
        "Not to be built without the rider's word: this stack does not do what was asked for.",
        When.NEAREST,
    ),
    Caution(
        "Gas under high pressure hurts hands and eyes: let it off as the maker's manual says before opening, "
        "eyes covered.",
        When.GAS,
    ),
    Caution(
        "Before opening, make sure that nothing inside is under pressure or spring load, "
        "as the maker's manual says.",
        When.NO_GAS,
    ),
    Caution(
        "Gas is filled by somebody trained, with the maker's tool, and never beyond what the maker allows.",
        When.GAS_FILLED,
    ),
    Caution("Work clean: one speck under a shim holds the valve open.", When.OPENED),
    Caution(
        "Only whole, flat, unmarked shims go back; measure each with a micrometer before it goes on.",
        When.OPENED,
    ),
    Caution("New seals, thread-locker and torque as the maker's manual says.", When.OPENED),
    Caution("Oil of the named grade, bled free of air.", When.OPENED),
    Caution(
        "Write down how the adjusters stand, counted from fully closed, before turning them.",
        When.ALWAYS,
    ),
    Caution(
        "Check free movement by hand through the whole stroke, then a bounce test, then a slow first ride on "
        "known ground.",
        When.ALWAYS,
    ),
    Caution(
        "The figures are a model's, not a measurement of this damper: a wrong damper can throw a rider.",
        When.ALWAYS,
    ),
    Caution(
        "The maker's manual, a qualified technician and local rules for road vehicles "
        "come before this sheet.",
        When.ALWAYS,
    ),
)


def cautions(*, opened: bool, gas_charged: bool, reached: bool, gas_filled: bool = False) -> tuple[str, ...]:
    """Cautions that belong on a sheet, the gravest first.

    Parameters
    ----------
    opened : whether the damper is opened.
    gas_charged : whether it holds gas.
    reached : whether the goal is reached.
    gas_filled : whether the gas pressure becomes another one.
    """
    holds = {
        When.ALWAYS: True,
        When.OPENED: opened,
        When.GAS: opened and gas_charged,
        When.NO_GAS: opened and not gas_charged,
        When.GAS_FILLED: gas_filled,
        When.NEAREST: not reached,
    }
    return tuple(caution.sentence for caution in CAUTIONS if holds[caution.when])
