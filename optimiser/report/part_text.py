"""What each combination of other parts does, as a table and in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from optimiser.jobs.part_ladder import PartLadder, PartStep
from optimiser.model.band_result import BandResult
from optimiser.model.goal import Role, Window
from optimiser.model.percent import percent_text, points_text
from optimiser.report.candidates import changes_text
from optimiser.report.in_units import in_units
from optimiser.report.part_words import parts_words
from optimiser.report.sure_text import chance_text
from optimiser.report.unit_system import UnitSystem

MINUTE: Final = 60.0
"""[s]"""


def parts_table(ladder: PartLadder, *, units: UnitSystem) -> Table:
    """What each combination does with the least work that was found for it, a line each."""
    table = Table(title="With other parts, the least work first", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Minutes", justify="right", no_wrap=True)
    table.add_column("Parts", min_width=11)
    table.add_column("Shims and clicks", min_width=12)
    table.add_column("On target", justify="right", no_wrap=True)
    table.add_column("Elsewhere", justify="right", no_wrap=True)
    table.add_column("Verdict")
    for step in ladder.telling:
        targets = [result for window, result in step.bands if window.role is Role.TARGET]
        held = [result for window, result in step.bands if window.role is Role.HOLD]
        most = max((max(one.least, one.most, key=abs) for one in held), key=abs, default=None)
        table.add_row(
            f"{step.time / MINUTE:.0f}",
            Text(in_units(parts_words(step.changes), units) or "as they are"),
            Text(shims_and_clicks(step)),
            "\n".join(percent_text(one.mean) for one in targets),
            "-" if most is None else percent_text(most),
            _verdict_of(step),
        )
    return table


def _verdict_of(step: PartStep) -> str:
    """Its verdict, with how many dampers built like this it holds in."""
    if step.best.objection is not None:
        return step.best.objection.value
    found = verdict(step.bands)
    return found if step.chance is None else f"{found}, in\n{chance_text(step.chance)}"


def shims_and_clicks(step: PartStep) -> str:
    """What changes besides parts."""
    before, after = step.settings[step.present], step.settings[step.best.setting]
    moved = [f"{name} {at} to {after[name]} out" for name, at in before.items() if after[name] != at]
    shims = [changes_text(step.best)] if step.best.number_of_changes else []
    return "; ".join([*shims, *moved]) or "as they are"


def verdict(bands: Sequence[tuple[Window, BandResult]]) -> str:
    """Whether all bands are in range, or by how much the worst is out."""
    worst = max((one.missed_by for _, one in bands), default=0.0)
    return "in range" if worst <= 0 else f"out by {points_text(worst)}"


def part_lines(ladder: PartLadder, *, units: UnitSystem) -> Iterator[str]:
    """What is proven of it, and what was left out."""
    least = ladder.least
    if least is None:
        yield (
            "Proven: no combination of these parts, shims and clicks is in range."
            if ladder.proven
            else "No combination was found in range; that is not proven."
        )
    else:
        yield (
            f"Proven: nothing that takes less than {least.time / MINUTE:.0f} minutes is in range, with these "
            "parts and shims."
            if ladder.proven
            else "Whether less work would do is not proven."
        )
    if others := len(ladder.steps) - len(ladder.telling):
        more = "1 more combination" if others == 1 else f"{others} more combinations"
        yield f"Not shown: {more}, no nearer than one with less work."
    if ladder.not_reached:
        yield f"Not reached in the time: {ladder.not_reached} combinations. More of it: --time-limit."
    for changes, why in ladder.left_out:
        yield in_units(f"Left out, {parts_words(changes)}: {why}.", units)
