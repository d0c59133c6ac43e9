"""The gate before any revalve: sag, springs, tyres, wear and service; most complaints end here."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from damping_model.units import BAR, MILLIMETRE
from optimiser.errors import InputError
from optimiser.intake.bands import Stroke
from optimiser.intake.machine import Corner, Machine
from optimiser.intake.measured import Basics, CornerBasics, as_measured, sag_of
from optimiser.intake.spring_choice import spring_for_sag
from optimiser.model.percent import share_text


@dataclass(frozen=True, slots=True)
class KindRanges:
    """The usual ranges of one kind of machine.

    Parameters
    ----------
    name : the kind.
    sag : least and most sag by end, as shares of wheel travel. [-]
    service_hours : after so many a damper is serviced before it is judged. [h]
    """

    name: str
    sag: Mapping[str, tuple[float, float]]
    service_hours: float


@dataclass(frozen=True, slots=True)
class Ranges:
    """The shop's ranges.

    Parameters
    ----------
    most_preload : past this a coil is the wrong one. [m]
    low_anti_squat : below this, bobbing is first a matter of the frame. [-]
    kinds : by kind of machine.
    damping_ratios : least and most damping ratio at sag, by stroke. [-]
    """

    most_preload: float
    low_anti_squat: float
    kinds: tuple[KindRanges, ...]
    damping_ratios: Mapping[Stroke, tuple[float, float]]

    def of(self, kind: str) -> KindRanges:
        """The ranges of a kind of machine.

        Raises
        ------
        InputError
            Naming the kinds that there are.
        """
        for ranges in self.kinds:
            if ranges.name == kind:
                return ranges
        names = [ranges.name for ranges in self.kinds]
        near = difflib.get_close_matches(kind, names, n=1)
        hint = (
            f"Did you mean '{near[0]}'?"
            if near
            else "Write the one that it is ridden most like: its usual sag and hours between services count."
        )
        raise InputError(f"got a machine of kind {kind!r}, expected one of {', '.join(names)}. {hint}")


@dataclass(frozen=True, slots=True)
class BasicsFinding:
    """Something to put right, or to know, before a damper is opened.

    Parameters
    ----------
    what, got, expected, do_this, why : as the plan prints them.
    stops : whether the plan stops here; a word of advice does not.
    may_override : whether a reason is enough to go on.
    """

    what: str
    got: str
    expected: str
    do_this: str
    why: str
    stops: bool = True
    may_override: bool = True


@dataclass(frozen=True, slots=True)
class GateResult:
    """Whether the plan may go on.

    Parameters
    ----------
    passed : nothing stops it, or a reason was given to go on.
    findings : what is out of range, and words of advice.
    unchecked : what nobody has measured yet.
    override_reason : why it goes on although something is out of range; None when nothing is overridden.
    """

    passed: bool
    findings: tuple[BasicsFinding, ...]
    unchecked: tuple[str, ...]
    override_reason: str | None

    @property
    def first(self) -> str:
        """What to put right before a plan goes on, in sentences, each of them once."""
        todo = dict.fromkeys(finding.do_this for finding in self.findings if finding.stops)
        return f"Basics first: {' '.join(todo)}"


def check_basics(*, machine: Machine, basics: Basics, ranges: Ranges) -> GateResult:
    """Hold what was measured against what it should be.

    Parameters
    ----------
    machine : with its springs as they were when the sag was measured.
    basics : what was measured; what was not stops nothing, but is named.
    ranges : the shop's.

    Raises
    ------
    InputError
        For a corner or a kind that there is not, or a sag longer than the travel.
    """
    kind = ranges.of(machine.kind)
    measured = {corner.name: corner for corner in basics.corners}
    for name in measured:
        machine.corner(name)
    findings: list[BasicsFinding] = []
    unchecked: list[str] = []
    for corner in machine.corners:
        values = measured.get(corner.name, CornerBasics(corner.name))
        findings += _corner_findings(as_measured(corner, values), values, kind, ranges)
        unchecked += _not_measured(corner, values)
    if basics.hours_since_service is None:
        unchecked.append("hours since service")
    elif basics.hours_since_service > kind.service_hours:
        findings.append(
            BasicsFinding(
                what="hours since service",
                got=f"{basics.hours_since_service:g} h",
                expected=f"at most {kind.service_hours:g} h",
                do_this="Service the damper first: oil, seals, air bled out.",
                why="Worn oil and air in it soften every band; a stack chosen for them is wrong "
                "after the service.",
            )
        )
    stopped = any(finding.stops for finding in findings)
    reason = basics.override_reason if stopped else None
    return GateResult(not stopped or bool(reason), tuple(findings), tuple(unchecked), reason)


def _corner_findings(
    corner: Corner, values: CornerBasics, kind: KindRanges, ranges: Ranges
) -> Iterator[BasicsFinding]:
    sag = sag_of(corner, values)
    usual = corner.sag or kind.sag.get(corner.end)
    if sag is not None and usual is not None and not usual[0] <= sag / corner.travel <= usual[1]:
        yield _sag_finding(corner, sag, usual, ranges.most_preload)
    if values.tyre_pressure is not None and corner.tyre_pressure is not None:
        least, most = corner.tyre_pressure
        if not least <= values.tyre_pressure <= most:
            yield BasicsFinding(
                what=f"tyre pressure, {corner.name}",
                got=f"{values.tyre_pressure / BAR:.2f} bar",
                expected=f"{least / BAR:.2f} to {most / BAR:.2f} bar",
                do_this=f"Set the tyre to {(least + most) / 2 / BAR:.2f} bar and ride again.",
                why="The tyre is a spring without a damper; what it does wrong, no stack puts right.",
            )
    if values.free_play:
        yield BasicsFinding(
            what=f"free play, {corner.name}",
            got="free play",
            expected="none",
            do_this="Find it and mend it: bearings, bushings, mounts.",
            why="A damper cannot act over the stretch that rattles.",
        )
    if values.leaks:
        yield BasicsFinding(
            what=f"leak, {corner.name}",
            got="oil or air gets out",
            expected="dry and tight",
            do_this="Mend the leak and fill to the mark; let the gas off as the maker's manual says first.",
            why="A damper that loses oil or gas has another curve on every ride.",
        )
    if corner.anti_squat is not None and corner.anti_squat < ranges.low_anti_squat:
        yield BasicsFinding(
            what=f"anti-squat, {corner.name}",
            got=f"{share_text(corner.anti_squat)} at sag",
            expected=f"{share_text(ranges.low_anti_squat)} or more for a frame that stays level under power",
            do_this="Know that bobbing under power is first a matter of this frame and its gearing.",
            why="Squat from the drive is a force of the linkage; damping only slows it down.",
            stops=False,
        )


def _sag_finding(
    corner: Corner, sag: float, usual: tuple[float, float], most_preload: float
) -> BasicsFinding:
    wanted = (usual[0] + usual[1]) / 2 * corner.travel
    change = spring_for_sag(corner=corner, measured=sag, wanted=wanted, most_preload=most_preload)
    too = "deep" if sag / corner.travel > usual[1] else "high"
    do_this = change.do_this if change else f"Set the spring {'stiffer' if too == 'deep' else 'softer'}."
    note = f" ({change.assumption})" if change else ""
    return BasicsFinding(
        what=f"sag, {corner.name}",
        got=f"{sag / MILLIMETRE:.0f} mm, {share_text(sag / corner.travel)} of travel",
        expected=f"{share_text(usual[0])} to {share_text(usual[1])} of travel",
        do_this=f"{do_this} Aim for {wanted / MILLIMETRE:.0f} mm at the wheel, then ride again.{note}",
        why=f"The machine rides too {too} in its travel: it meets every bump with the wrong part of "
        "the spring, "
        "and no damping moves it back.",
    )


def _not_measured(corner: Corner, values: CornerBasics) -> Iterator[str]:
    if values.sag is values.sag_at_shaft is values.sag_share is None:
        yield f"sag, {corner.name}"
    for what, value in (
        ("tyre pressure", values.tyre_pressure),
        ("free play", values.free_play),
        ("leaks", values.leaks),
    ):
        if value is None:
            yield f"{what}, {corner.name}"
