"""What ``shimwright compare`` lays over one another: read, put together, each with a name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from damping_model.damper.damper import Damper
from damping_model.flow.oil import Oil
from damping_model.stack.stack import Stack
from damping_model.units import MILLIMETRE, celsius, kelvin
from optimiser.actions.compare_options import is_damper, labelled, stack_name, typed_stack
from optimiser.actions.compare_subject import Notice, Subject
from optimiser.actions.curve_options import positions, temperatures
from optimiser.documents.common import ShimDocument
from optimiser.documents.parts import PartDocument
from optimiser.documents.plan_reader import read_plan
from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.damper_builder import read_damper
from optimiser.files.oil_text import oil_from_text
from optimiser.files.part_in_file import value_of
from optimiser.intake.brackets import adjusters_of
from optimiser.jobs.what_if import WhatIf, settings_of
from optimiser.model.damper_description import with_stack
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.other_parts import PartChange, PartKind, with_parts
from optimiser.model.stock import ShimKey


def cases_of(
    subject: Subject,
    others: Sequence[Path],
    *,
    tries: Sequence[str],
    texts: Sequence[Path],
    plan: Path | None,
    picks: Sequence[int],
    settings: Sequence[str],
    warmths: str | None,
    oils: Sequence[str],
    notice: Notice,
) -> list[WhatIf]:
    """Every stack and damper at every clicks, oil and temperature; the first is the damper as it stands.

    Parameters
    ----------
    subject : the damper that questions are put to.
    others : files of more dampers.
    tries, texts : stacks in its place, typed, and files that hold them.
    plan, picks : a plan's document, and which of its candidates; all when none is named.
    settings, warmths, oils : as typed.
    notice : told of each further damper that is read.

    Raises
    ------
    InputError
        For whatever cannot be read, naming its place.
    """
    dampers = [subject.first, *_stacks(subject, tries, texts), *_candidates(subject, plan, picks)]
    dampers += _others(subject, others, notice)
    known: dict[str, int] = {}
    for one in dampers:
        for adjuster in adjusters_of(one.damper):
            known[adjuster.name] = max(adjuster.most, known.get(adjuster.name, 0))
    clicks = positions(settings, known, option="--clicks")
    warm = [None, *(kelvin(celsius=one) for one in temperatures(warmths, option="--celsius"))]
    filled = [None, *(_oil(text, subject.described.damper) for text in oils)]
    return [
        _case(one, setting, oil, temperature)
        for one in dampers
        for setting in settings_of(one.damper, clicks)
        for oil in filled
        for temperature in warm
    ]


def _case(one: WhatIf, setting: Mapping[str, int], oil: Oil | None, temperature: float | None) -> WhatIf:
    """A damper at a setting, with oil and at a temperature, called by what is not as it stands."""
    words = [f"{name} {at} out" for name, at in setting.items()]
    words += [] if oil is None else [oil.name]
    words += [] if temperature is None else [f"{celsius(kelvin=temperature):g} °C"]
    plain = one.label == "as it is" and words
    return replace(
        one,
        label=", ".join(words if plain else [one.label, *words]),
        damper=one.damper if oil is None else replace(one.damper, oil=oil),
        clicks={**one.clicks, **setting},
        temperature=one.temperature if temperature is None else temperature,
    )


def _stacks(subject: Subject, tries: Sequence[str], texts: Sequence[Path]) -> Iterator[WhatIf]:
    """Stacks that were typed, and those that files hold."""
    if subject.mounted is None:
        return
    typed = [
        (*labelled(text), f"--try {number}" if len(tries) > 1 else "--try")
        for number, text in enumerate(tries, 1)
    ]
    typed += [(path.stem, read_text(path, what="stack"), str(path)) for path in texts]
    old = keys_of(subject.mounted.stack)
    for number, (label, text, where) in enumerate(typed, 1):
        stack = typed_stack(text, subject.mounted, where=where)
        name = stack_name(label, old, keys_of(stack), number=number)
        yield replace(
            subject.first, label=name, damper=with_stack(subject.first.damper, subject.mounted.name, stack)
        )


def _candidates(subject: Subject, plan: Path | None, picks: Sequence[int]) -> Iterator[WhatIf]:
    """Candidates of a plan, each with the clicks that go with it."""
    if plan is None or subject.mounted is None:
        return
    document = read_plan(read_text(plan, what="plan"), name=str(plan))
    got = (document.damper, document.stack_name)
    if got != (subject.described.name, subject.mounted.name):
        raise InputError(
            f"{plan}: got a plan for {got[1]} of {got[0]}, expected one for {subject.mounted.name} of "
            f"{subject.described.name}. Plan this job again with --json."
        )
    parts = () if document.parts is None else tuple(document.parts.chosen)
    found = document.candidates or ([document.nearest] if document.nearest else [])
    for pick in picks:
        if pick > len(found):
            raise InputError(
                f"--pick: got {pick}, expected 1 to {len(found)}: so many candidates has {plan}."
            )
    for candidate in found:
        if picks and candidate.rank not in picks:
            continue
        damper = with_stack(_with_other_parts(subject, parts), subject.mounted.name, _stack(candidate.stack))
        for other in candidate.others:
            damper = with_stack(damper, other.stack_name, _stack(other.stack))
        stands = {one.name: one.at for one in adjusters_of(subject.described.damper)}
        moved = {name: at for name, at in candidate.adjusters.items() if stands.get(name) != at}
        words = [
            f"candidate {candidate.rank}",
            *(f"{name} {at} out" for name, at in moved.items()),
            *(f"{other.stack_name} too" for other in candidate.others),
            *(_part_in_short(one) for one in parts),
        ]
        yield replace(
            subject.first,
            label=", ".join(words),
            damper=damper,
            clicks=moved,
        )


def _with_other_parts(subject: Subject, parts: Iterable[PartDocument]) -> Damper:
    """The damper with the oil, gas pressure, bleeds and rings that a plan chose."""
    described, changes = replace(subject.described, damper=subject.first.damper), []
    for one in parts:
        kind = PartKind(one.kind)
        if kind is PartKind.RING:
            to: Oil | float = (one.size_mm or 0.0) * MILLIMETRE
        elif one.file_after is not None:
            to = value_of(kind, one.file_after, density_15=described.damper.oil.density_15)
        else:
            raise InputError(
                f"got a plan that does not say how its {one.kind} is written into the damper's file, "
                "expected one of this version. Plan the job again."
            )
        changes.append(PartChange(kind=kind, name=one.name, was=to, to=to, time=0.0))
    return with_parts(described, tuple(changes)).damper


def _part_in_short(one: PartDocument) -> str:
    """A part that comes in, as a label names it."""
    if one.oil is not None:
        return one.oil
    if one.gas_bar is not None:
        return f"gas at {one.gas_bar:g} bar"
    return f"{'ring of the ' if one.kind == PartKind.RING.value else ''}{one.name} {one.size_mm:g} mm"


def _stack(shims: Iterable[ShimDocument]) -> Stack:
    return stack_of(
        [
            ShimKey.from_millimetres(
                outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
            )
            for shim in shims
        ]
    )


def _others(subject: Subject, others: Sequence[Path], notice: Notice) -> Iterator[WhatIf]:
    """Other dampers as they stand, with the stack of the same name where they have it."""
    name = None if subject.mounted is None else subject.mounted.name
    named = {subject.described.name}
    for path in others:
        if not is_damper(path):
            raise InputError(
                f"{path}: got a file without chambers and valves, expected another damper. "
                "Bands come from the first file alone; of a job, name its damper instead."
            )
        described = read_damper(path)
        notice(described)
        described.refuse_what_cannot_be_built()
        alike = next((mounted for mounted in described.stacks if mounted.name == name), None)
        label = described.name if described.name not in named else f"{described.name} ({path.stem})"
        named.add(label)
        yield WhatIf(
            label=label,
            damper=described.damper,
            stack_name=None if alike is None else alike.name,
            mounting=None if alike is None else alike.mounting,
        )


def _oil(text: str, damper: Damper) -> Oil:
    """The oil of a damper file, or one that is typed."""
    if text.endswith(".toml"):
        return read_damper(Path(text)).damper.oil
    return oil_from_text(text, density_15=damper.oil.density_15, where="--oil")
