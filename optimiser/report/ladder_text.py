"""The ladder of effort for the terminal: which step to take, what each does, drawn against the limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from optimiser.jobs.ladder import Advice, LadderStep, recommended
from optimiser.jobs.planned import Planned
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.band_result import BandResult, BandVerdict
from optimiser.model.goal import Goal, Role, Window, mean_limits
from optimiser.model.percent import TRUE_MINUS, percent_text, points_text
from optimiser.report.band_rows import marks
from optimiser.report.candidates import aimed_text, changes_text
from optimiser.report.part_words import part_words
from optimiser.report.shelf_words import shelf_text
from optimiser.report.unit_system import UnitSystem
from optimiser.spread.spread import Spread

WIDTH: Final = 44
"""Characters that changes are drawn over. [-]"""


@dataclass(frozen=True, slots=True)
class LadderView:
    """A ladder as pages show it.

    Parameters
    ----------
    steps : from clicks alone upwards, at least one.
    what : for each of them the shims and clicks that change, in a line.
    goal : what was asked.
    stack_name : the stack that may change.
    sure : for each of them how surely it does what is promised, or None; empty where nothing is known of it.
    least : fewest changes that have the chance that was asked; 0 where none was.
    best_aimed : the candidate that is aimed best, and its number in the list; None where all are broad.
    opens_for : bleeds that become others, and stacks whose rings do; none where they stay.
    """

    steps: tuple[LadderStep, ...]
    what: tuple[str, ...]
    goal: Goal
    stack_name: str
    sure: tuple[Spread | None, ...] = ()
    least: int = 0
    best_aimed: tuple[int, Candidate] | None = None
    opens_for: tuple[str, ...] = ()

    @classmethod
    def of(cls, planned: Planned) -> LadderView | None:
        """The ladder of a planned job; None where it has none."""
        if planned.asked is None or not planned.ladder:
            return None
        what = tuple(_what_changes(planned, step.best) for step in planned.ladder)
        sure = tuple(planned.sure.of(step.best) for step in planned.ladder)
        asked = planned.confidence
        least = 0 if asked is None or asked.changes is None else asked.changes
        listed = () if planned.answer is None else planned.answer.candidates
        return cls(
            planned.ladder,
            what,
            planned.asked.goal,
            planned.mounted.name,
            sure,
            least,
            _best_aimed(listed),
            tuple(one.name for one in planned.part_changes if one.kind.opens),
        )

    @property
    def letters(self) -> dict[str, str]:
        """The letter of each band, as curves and tables have it."""
        return dict(zip((window.name for window in self.goal.windows), marks(), strict=False))


def _best_aimed(listed: Sequence[Candidate]) -> tuple[int, Candidate] | None:
    """The candidate of a list that is aimed best, and its number; None where all are broad."""
    aimed = [(number, one) for number, one in enumerate(listed, 1) if one.aimed and not rank.broad(one)]
    return max(aimed, key=lambda each: each[1].aimed or 0.0, default=None)


def _what_changes(planned: Planned, best: Candidate) -> str:
    moved = [f"{name} {at} to {to} out" for name, (at, to) in planned.turned(best).items()]
    shims = [changes_text(best)] if best.number_of_changes else []
    return "; ".join([*map(part_words, planned.part_changes), *shims, *moved]) or "leave it as it is"


def effort_words(changes: int) -> str:
    """A step of effort as people say it."""
    return "clickers only" if not changes else "1 change" if changes == 1 else f"{changes} changes"


def advice_text(view: LadderView, *, units: UnitSystem) -> str | None:
    """Which step to take and why; None where none is in range or near enough.

    Parameters
    ----------
    view : the ladder.
    units : what people read.
    """
    found = recommended(view.steps, least=view.least)
    if found is None:
        return None
    step = found.step
    what = dict(zip((one.rung.changes for one in view.steps), view.what, strict=True))
    opened = step.best.number_of_changes or view.opens_for
    shut = "" if opened else " The damper stays closed."
    if found.advice is Advice.IN_RANGE:
        least = "The least effort in range"
        if view.least:
            least = "The least effort that keeps all limits as often as was asked"
        return f"Do this: {what[step.rung.changes]}. {least}.{shut}{broad_words(step, view.best_aimed)}"
    missed = "; ".join(
        f"'{window.name}' is out by {miss_words(result, units=units)}"
        for window, result in step.bands
        if result.missed_by > 0
    )
    further = next((one.rung.changes for one in view.steps if one.rung.in_range), None)
    end = "Nothing that was tried is in range."
    if further is not None:
        end = f"In range is {effort_words(further)}: {what[further]}. The sheet is for what is in range."
    first = "Near enough" if step.best.number_of_changes else "Ride this first"
    return f"{first}: {what[step.rung.changes]}.{shut} {missed}: less than a rider feels. {end}"


def broad_words(step: LadderStep, best_aimed: tuple[int, Candidate] | None) -> str:
    """A sentence where a step moves the rest by nearly as much as the target; else nothing.

    Parameters
    ----------
    step : that is advised.
    best_aimed : the candidate that does better, and its number in the list, if there is one.
    """
    if step.elsewhere is None or not rank.broad(step.best):
        return ""
    window, change = step.elsewhere
    broad = (
        f" It is a broad change, not an aimed one: '{window.name}' moves by {percent_text(change)} at most, "
        "nearly as much as the target"
    )
    if best_aimed is None:
        return f"{broad}; nothing better aimed was found."
    number, other = best_aimed
    return (
        f"{broad}. Candidate {number} is better aimed, {aimed_text(other.aimed)} instead of "
        f"{aimed_text(step.best.aimed)}, and takes {effort_words(len(other.changes))}."
    )


def miss_words(result: BandResult, *, units: UnitSystem) -> str:
    """By how much a band is out: ``0.12 points (2.1 N) at 0.7 m/s``."""
    force = f"{units.force_text(result.missed_force)} {units.force_unit}"
    at = "on average" if result.missed_at is None else (
        f"at {units.velocity_text(result.missed_at)} {units.velocity_unit}"
    )  # fmt: skip
    return f"{points_text(result.missed_by)} ({force}) {at}"


def ladder_table(view: LadderView, *, units: UnitSystem) -> Table:
    """What each step of effort buys, a line each; :func:`effort_lines` says what it takes.

    Parameters
    ----------
    view : the ladder.
    units : what people read.
    """
    letters = view.letters
    table = Table(title="What each step of effort buys", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Effort", no_wrap=True)
    table.add_column("On target", justify="right", no_wrap=True)
    table.add_column("Elsewhere", justify="right", no_wrap=True)
    table.add_column("Aimed", justify="right", no_wrap=True)
    table.add_column("Verdict", ratio=1)
    for step in view.steps:
        table.add_row(
            effort_words(step.rung.changes),
            "\n".join(on_target_texts(step, letters)),
            elsewhere_text(step, letters),
            aimed_text(step.best.aimed),
            Text(verdict_text(step, letters, units=units)),
        )
    return table


def effort_lines(view: LadderView) -> Iterator[str]:
    """What each step takes: shims and clicks, the damper opened or not, the shelf; and what is proven."""
    for step, what in zip(view.steps, view.what, strict=True):
        yield f"{effort_words(step.rung.changes)}: {'; '.join([what, *_taken(view, step)])}."


def _taken(view: LadderView, step: LadderStep) -> Iterator[str]:
    yield opened_words(step, view) if step.rung.changes or view.opens_for else "the damper stays closed"
    if step.from_shelf:
        yield f"from the shelf {', '.join(shelf_text(one) for one in step.from_shelf)}"
    if not step.rung.in_range:
        kept = " with the clickers as they are" if step.rung.changes else ""
        proven = f"proven: nothing with so much effort is in range{kept}"
        yield proven if step.rung.closed else "nothing found in range with so much effort, not proven"
        so_far = (one for one in view.steps if one.rung.changes <= step.rung.changes)
        nearest = min(so_far, key=lambda one: one.best.misfit)
        if nearest.rung.changes < step.rung.changes:
            yield f"comes no nearer than {effort_words(nearest.rung.changes)}"
    elif len(step.rung.ideas) > 1:
        yield f"{len(step.rung.ideas)} different ways found"


def opened_words(step: LadderStep, view: LadderView) -> str:
    """What a step opens, stacks and other parts, and the work where several may change."""
    names = " and the ".join(dict.fromkeys((*step.best.opened(view.stack_name), *view.opens_for)))
    return f"opens the {names}" + ("" if step.hours is None else f", about {step.hours:.1f} h")


def span_text(result: BandResult) -> str:
    """Least and largest change over a band: ``(5.3 to 8.1)``."""
    least, most = (f"{100 * one:.1f}".replace("-", TRUE_MINUS) for one in (result.least, result.most))
    return f"({least} to {most})"


def on_target_texts(step: LadderStep, letters: Mapping[str, str]) -> list[str]:
    """What a step does to each target: ``A +6.2 % (5.3 to 8.1)``."""
    return [
        f"{letters[window.name]} {percent_text(one.mean)} {span_text(one)}" for window, one in step.targets
    ]


def elsewhere_text(step: LadderStep, letters: Mapping[str, str]) -> str:
    """The held band that moves most: ``B +2.4 %``."""
    if step.elsewhere is None:
        return "-"
    window, change = step.elsewhere
    return f"{letters[window.name]} {percent_text(change)}"


def verdict_text(step: LadderStep, letters: Mapping[str, str], *, units: UnitSystem) -> str:
    """Whether a step is in range, or by how much it is out and where: ``out in A by 2.8 points, 12 N``."""
    worst = step.worst
    if worst is None:
        return "in range"
    window, result = worst
    edge = "at the edge" if step.verdict is BandVerdict.AT_THE_EDGE else "out"
    force = f"{units.force_text(result.missed_force)} {units.force_unit}"
    return f"{edge} in {letters[window.name]} by {points_text(result.missed_by)}, {force}"


def ladder_drawing(view: LadderView) -> str:
    """Each step's change in each band against its limits, as text."""
    lines = []
    for mark, window, results in drawn(view):
        low, high = drawn_span(window, results)
        lines.append(f"{mark}  {' '.join(window.name.split())}")
        for step, result in zip(view.steps, results, strict=True):
            strip = _strip(window, result, low, high)
            lines.append(f"   {effort_words(step.rung.changes):<14}{strip} {percent_text(result.mean):>8}")
    lines.append("   [ ] limits, - range over the band, * average, | no change")
    return "\n".join(lines)


def drawn(view: LadderView) -> Iterator[tuple[str, Window, list[BandResult]]]:
    """Bands that are drawn, with what each step does to them; stretches that only stay familiar are not."""
    for place, (mark, window) in enumerate(zip(marks(), view.goal.windows, strict=False)):
        if window.role is not Role.FAMILIARITY:
            yield mark, window, [step.bands[place][1] for step in view.steps]


def drawn_span(window: Window, results: Sequence[BandResult]) -> tuple[float, float]:
    """Least and most change that a band is drawn over: its limits, all results, and no change at all. [-]"""
    shown = [0.0, *mean_limits(window)]
    shown += [one.least for one in results] + [one.most for one in results]
    room = 0.05 * (max(shown) - min(shown))
    return min(shown) - room, max(shown) + room


def _strip(window: Window, result: BandResult, low: float, high: float) -> str:
    strip = [" "] * WIDTH

    def place(change: float) -> int:
        return min(max(round((change - low) / (high - low) * (WIDTH - 1)), 0), WIDTH - 1)

    for at in range(place(result.least), place(result.most) + 1):
        strip[at] = "-"
    strip[place(0.0)] = "|"
    least, most = mean_limits(window)
    strip[place(least)], strip[place(most)] = "[", "]"
    strip[place(result.mean)] = "*"
    return "".join(strip)
