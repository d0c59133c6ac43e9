"""A damper as a shop describes it: what the physics computes, and what a builder has to know besides."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from damping_model.damper.damper import Damper
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.model.assembly import NOTHING_WRITTEN, Assembly
from optimiser.model.fitted import Fitted
from optimiser.model.oddity import Oddity
from optimiser.model.rules import Mounting, rules_for, violations
from optimiser.model.unmeasured import Unmeasured

FiledValue = Mapping[str, object] | float
"""A part as a damper file says it: an oil by its keys, a gas pressure [bar], a bleed's hole [mm]."""

FiledParts = Mapping[tuple[str, str], FiledValue]
"""Parts of a damper by kind and name, as its file says them; oil and gas have no name."""

TURNED_ROUND: Final = (
    "The shims stand in order from the nut, expected from the piston outwards, the face shim first. "
    "Turn the list round."
)
"""What is said of a stack that can be built as soon as its list is turned round."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MountedStack:
    """A shim stack in its place.

    Parameters
    ----------
    path : ports, seat and shims, as oil meets them.
    mounting : what the stack is bolted to, as the rules of building see it.
    """

    path: ShimValve
    mounting: Mounting

    @property
    def name(self) -> str:
        """Of the stack's place in its damper."""
        return self.path.name

    @property
    def stack(self) -> Stack:
        """The shims, from the piston outwards."""
        return self.path.stack

    @property
    def faults(self) -> tuple[str, ...]:
        """The rules of building that the stack breaks, in words; empty when it can be built."""
        found = _broken(self.stack, self.mounting)
        turned = Stack(self.stack.shims[::-1])
        if found and not _broken(turned, self.mounting):
            return (TURNED_ROUND,)
        return found


def _broken(stack: Stack, mounting: Mounting) -> tuple[str, ...]:
    return tuple(violations(rules_for(stack, mounting), stack, mounting))


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperDescription:
    """A damper with all that a shop has written down about it.

    Parameters
    ----------
    source : where the description comes from, for messages: the path of its file.
    damper : chambers, valves and oil.
    stacks : every shim stack in its place, in the order of the description.
    stroke : travel of the shaft. [m]
    gas_charged : whether opening the damper lets go of gas under pressure.
    in_a_fork : whether it works in a leg of a fork, and not beside a spring.
    assembly : what it is put together by.
    oddities : what is unusual in the description, although a real damper might have it.
    not_measured : figures that are taken as usual, since nobody measured them.
    fitted : the fit to a dyno that figures come from, or would if it were not stale; None without one.
    filed : its oil, gas pressure [bar] and bleeds [mm] as its file says them, whatever a fit makes of them.
    """

    source: str
    damper: Damper
    stacks: tuple[MountedStack, ...]
    stroke: float
    gas_charged: bool
    in_a_fork: bool = False
    assembly: Assembly = NOTHING_WRITTEN
    oddities: tuple[Oddity, ...] = ()
    not_measured: tuple[Unmeasured, ...] = ()
    fitted: Fitted | None = None
    filed: FiledParts = field(default_factory=dict)

    @property
    def name(self) -> str:
        """What the tuner calls the damper."""
        return self.damper.name

    def stack_named(self, name: str | None, *, where: str) -> MountedStack:
        """The stack that a job or a command means; without a name, the only one there is.

        Parameters
        ----------
        name : of the stack, or None.
        where : the file and field, or the option, that gives the name; for messages.

        Raises
        ------
        InputError
            When there is no such stack, or several and none named.
        """
        stacks = {mounted.name: mounted for mounted in self.stacks}
        known = ", ".join(f"'{known}'" for known in stacks)
        if name is None:
            if len(stacks) == 1:
                return next(iter(stacks.values()))
            raise InputError(f"{where}: missing; expected one of {known}. Say which stack may change.")
        if name not in stacks:
            near = difflib.get_close_matches(name, stacks, n=1)
            hint = f"Did you mean '{near[0]}'?" if near else f"Known stacks: {known}."
            raise InputError(f"{where}: got {name!r}, expected a stack of {self.name}. {hint}")
        return stacks[name]

    @property
    def assemblies(self) -> dict[str, str]:
        """What has to be opened to get at each path: stacks and bleeds of one valve share it."""
        return {path.name: valve.name for valve in self.damper.valves for path in valve.paths}

    def with_stack(self, name: str, stack: Stack) -> DamperDescription:
        """The same damper with another stack in one of its places."""
        stacks = tuple(
            replace(mounted, path=replace(mounted.path, stack=stack)) if mounted.name == name else mounted
            for mounted in self.stacks
        )
        return replace(self, damper=with_stack(self.damper, name, stack), stacks=stacks)

    def with_damper(self, damper: Damper) -> DamperDescription:
        """The same with other figures of its paths and stacks."""
        stacks = tuple(replace(mounted, path=damper.stack_path(mounted.name)) for mounted in self.stacks)
        return replace(self, damper=damper, stacks=stacks)

    def refuse_what_cannot_be_built(self) -> None:
        """Hold every stack against the rules of building.

        Raises
        ------
        InputError
            Naming source, stack and every rule that is broken.
        """
        faults = [
            f"{self.source}: stack '{mounted.name}': {fault}"
            for mounted in self.stacks
            for fault in mounted.faults
        ]
        if faults:
            raise InputError("\n".join(faults))


def with_stack(damper: Damper, name: str, stack: Stack) -> Damper:
    """The same damper with another stack in one place."""
    valves = tuple(
        replace(
            valve,
            paths=tuple(
                replace(path, stack=stack) if isinstance(path, ShimValve) and path.name == name else path
                for path in valve.paths
            ),
        )
        for valve in damper.valves
    )
    return replace(damper, valves=valves)
