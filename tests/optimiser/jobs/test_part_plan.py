"""A plan made of another oil: what it says, what the sheet asks for, what programs read."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimiser.actions.plan_to_build import plan_to_build
from optimiser.documents.common import ShimDocument
from optimiser.documents.parts import PartDocument
from optimiser.documents.plan import PlanDocument
from optimiser.documents.plan_writer import plan_document
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.jobs.job import Job
from optimiser.jobs.plan import plan_job
from optimiser.jobs.planned import Planned
from optimiser.model.other_parts import PartChange, PartKind
from optimiser.model.stock import ShimKey
from optimiser.report.cautions import cautions
from optimiser.report.page import sheet_html
from optimiser.report.part_text import part_lines
from optimiser.report.part_words import part_steps
from optimiser.report.plan_sheet import said, sheet_of, step_words
from optimiser.report.unit_system import UnitSystem
from tests.helpers.stiff_shop import lay_out
from tests.optimiser.jobs.test_part_search import job


def with_oil(**work: object) -> Job:
    """The delivered shock, a tenth firmer, of which the thicker of two oils does nine parts in a hundred."""
    asked = job(0.10)
    return replace(asked, at_hand=asked.at_hand[:1], work=replace(asked.work, most_changes=0, **work))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def planned() -> Planned:
    return plan_job(with_oil())


def document(planned: Planned) -> PlanDocument:
    assert planned.shown is not None
    steps = [step_words(planned, planned.shown)]
    return plan_document(planned, said=said(planned), do_first=None, steps=steps, sheet=None)


def test_another_oil_is_the_answer_where_no_shim_may_change(planned: Planned) -> None:
    assert planned.outcome == "parts"
    assert said(planned).startswith("With oil ISO VG 22 instead of")
    assert "no shim has to change" in said(planned)
    assert planned.parts is not None
    assert planned.parts.proven
    assert planned.as_it_is.damper.oil.name != "ISO VG 22"
    lines = [*part_lines(planned.parts, units=UnitSystem.METRIC)]
    assert lines[0].startswith("Proven: nothing that takes less than 30 minutes is in range")


def test_the_stroke_that_no_band_is_in_is_told_what_the_oil_does_to_it(planned: Planned) -> None:
    (words,) = [one for one in planned.remarks if one.startswith("No band is in rebound")]
    assert "by +" in words


def test_the_sheet_says_drain_and_fill_and_draws_the_damper_as_it_is_before_it(planned: Planned) -> None:
    assert planned.shown is not None
    sheet = sheet_of(planned, planned.shown)
    assert sheet.part_steps[0].startswith("Drain ")
    assert "fill with ISO VG 22" in sheet.part_steps[0]
    assert any("Oil of the named grade, bled free of air." in one for one in sheet.cautions)
    before, after = sheet.curves
    plain = plan_job(replace(planned.job, damper=planned.as_it_is, parts=None, at_hand=()))
    assert plain.shown is not None
    assert before.forces == sheet_of(plain, plain.shown).curves[0].forces
    assert max(after.forces) > max(before.forces)
    page = sheet_html(sheet, units=UnitSystem.METRIC)
    assert "Other parts, the same shims" in page
    assert "fill with ISO VG 22" in page


def test_gas_is_filled_by_somebody_trained_and_within_what_the_maker_allows() -> None:
    gas = PartChange(kind=PartKind.GAS, name="", was=14e5, to=12e5, time=0.0)
    (step, note) = part_steps((gas,))
    assert step.startswith("Gas: 12 bar instead of 14 bar. Somebody trained fills it")
    assert "'shimwright done' writes this into the damper's file" in note
    assert "gas at 12 bar instead of 14 bar" in note
    given = cautions(opened=False, gas_charged=True, reached=True, gas_filled=True)
    assert any("never beyond what the maker allows" in one for one in given)
    assert not any("filled" in one for one in cautions(opened=True, gas_charged=True, reached=True))


def test_without_what_is_at_hand_nothing_but_shims_and_clicks_is_tried() -> None:
    asked = with_oil()
    found = plan_job(replace(asked, at_hand=()))
    assert found.parts is None
    assert found.outcome == "cannot be reached"
    assert document(found).parts is None


def test_programs_read_every_combination_and_what_was_chosen(planned: Planned) -> None:
    found = document(planned)
    assert found.outcome == "parts"
    assert found.parts is not None
    assert [one.oil for one in found.parts.chosen] == ["ISO VG 22"]
    assert [[part.oil for part in one.parts] for one in found.parts.steps] == [
        [],
        ["ISO VG 7"],
        ["ISO VG 22"],
    ]
    assert [one.minutes for one in found.parts.steps] == [0, 30, 30]
    assert found.candidates[0].steps[0].startswith("Drain ")
    assert found.candidates[0].bands[0].within
    assert plan_to_build(found).candidates[0].taken == {}


def test_a_plan_that_swaps_the_ring_of_its_stack_is_reserved_ring_and_all(planned: Planned) -> None:
    found = document(planned)
    assert found.parts is not None

    def with_ring(thickness: float) -> list[ShimDocument]:
        ring = ShimDocument(outer_diameter_mm=16, thickness_mm=thickness, inner_diameter_mm=12)
        return [found.candidates[0].stack[0], ring, *found.candidates[0].stack[1:]]

    swap = PartDocument(
        kind="preload ring",
        name=found.stack_name,
        size_mm=0.25,
        stack_before=with_ring(0.15),
        stack_after=with_ring(0.25),
    )
    swapped = found.model_copy(update={"parts": found.parts.model_copy(update={"chosen": [swap]})})
    (ring,) = plan_to_build(swapped).swaps.rings
    assert (ring.was, ring.to) == (ShimKey(16000, 150, 12000), ShimKey(16000, 250, 12000))


def test_a_plan_of_a_version_that_said_nothing_of_the_file_is_refused_with_the_way_out(
    planned: Planned,
) -> None:
    found = document(planned)
    assert found.parts is not None
    bare = PartDocument(kind="preload ring", name=found.stack_name, size_mm=0.25)
    old = found.model_copy(update={"parts": found.parts.model_copy(update={"chosen": [bare]})})
    with pytest.raises(InputError, match="Plan the job again"):
        plan_to_build(old)


def read(tmp_path: Path, tables: str) -> Job:
    lay_out(tmp_path)
    path = tmp_path / "jobs" / "g_too_coarse.toml"
    path.write_text(path.read_text(encoding="utf-8") + tables, encoding="utf-8")
    return read_job(path)


def test_lists_are_read_in_si_with_the_usual_time_or_their_own(tmp_path: Path) -> None:
    found = read(
        tmp_path,
        '[[at_hand]]\noils = ["VG 22"]\n[[at_hand]]\ngas_bar = [12, 14]\nminutes = 20\n'
        '[[at_hand]]\nname = "base hole"\nbleed_mm = [1.0]\n',
    )
    assert [(one.kind, one.name, one.time) for one in found.at_hand] == [
        (PartKind.OIL, "", 1800), (PartKind.GAS, "", 1200), (PartKind.BLEED, "base hole", 600)
    ]  # fmt: skip
    assert found.at_hand[1].choices == (12e5, 14e5)
    assert found.at_hand[2].choices == pytest.approx((1e-3,))


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ("[[at_hand]]\nminutes = 3\n", "one list in each"),
        ('[[at_hand]]\noils = ["VG 22"]\ngas_bar = [12]\n', "got oils and gas_bar"),
        ("[[at_hand]]\nbleed_mm = [1.0]\n", "name beside bleed_mm: of the bleed"),
        ('[[at_hand]]\nname = "x"\ngas_bar = [12]\n', "no name beside gas_bar"),
        ('[[at_hand]]\noils = ["thick"]\n', "at_hand: oils: got 'thick', expected a grade"),
        ("[[at_hand]]\ngas_bar = [12]\n[[at_hand]]\ngas_bar = [14]\n", "for each part"),
    ],
)
def test_a_slip_in_a_list_is_refused_with_what_was_expected(tmp_path: Path, tables: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read(tmp_path, tables)
