"""What hands need beside the stack: known figures, room for unknown ones, and what to hold them against."""

from __future__ import annotations

from dataclasses import replace

from optimiser.report.page import sheet_html
from optimiser.report.service_notes import ServiceNotes, service_notes
from optimiser.report.unit_system import UnitSystem
from tests.helpers.sheet_samples import BLANK, SERVICE, few_shims

METRIC = UnitSystem.METRIC


def figures(notes: ServiceNotes) -> dict[str, tuple[str, str]]:
    return {note.what: (note.figure, note.mind) for note in (*notes.given, *notes.measured)}


def test_what_the_shop_has_written_down_stands_there_and_the_manual_stays_the_measure() -> None:
    shown = figures(service_notes(SERVICE, height=3.0e-3, opened=True, units=METRIC))
    assert shown["Works at"] == ("rear, compression", "shaft stroke 55 mm")
    assert shown["Serial number"] == ("T55-00417", "")
    assert shown["Oil"] == ("light damper oil", "14.6 mm²/s at 40 °C")
    assert shown["Oil level"] == ("12.00 mm", "as the maker's manual says")
    assert shown["Gas charge"] == ("17 bar", "as the maker's manual says; the figures are for 25 bar")
    assert shown["Torque, stack nut"] == ("6.5 N m", "as the maker's manual says")
    assert shown["Spring"] == ("85 N/mm, 2.00 mm of preload", "")


def test_what_nobody_knows_is_left_to_be_written_in() -> None:
    shown = figures(service_notes(BLANK, height=3.0e-3, opened=True, units=METRIC))
    unknown = {"Serial number", "Oil level", "Gas charge", "Torque, stack nut", "Spring", "Sag"}
    assert {what for what in unknown if shown[what][0] == ""} == unknown


def test_sag_is_held_against_the_usual_and_the_new_height_against_the_thread_length_that_is_left() -> None:
    notes = service_notes(SERVICE, height=3.0e-3, opened=True, units=METRIC)
    given = {note.what: note for note in notes.given}
    assert (given["Sag"].figure, given["Sag"].mind) == ("39 mm, 28 %", "usual 35 mm, 25 %")
    shown = figures(notes)
    assert shown["Stack height"] == ("", "planned 3.00 mm")
    assert "may be 1.20 mm higher" in shown["Thread length left"][1]  # 4.2 mm of room, 3.0 mm of stack


def test_a_damper_that_stays_closed_is_neither_filled_nor_torqued() -> None:
    notes = service_notes(SERVICE, height=3.0e-3, opened=False, units=METRIC)
    assert not notes.checks
    assert not {"Oil", "Gas charge", "Torque, stack nut", "Stack height"} & set(figures(notes))


def test_a_damper_without_gas_has_no_line_for_it() -> None:
    notes = service_notes(replace(SERVICE, gas_charged=False), height=3.0e-3, opened=True, units=METRIC)
    assert "Gas charge" not in figures(notes)


def test_the_page_has_the_figures_the_list_to_lay_out_and_a_short_title() -> None:
    page = sheet_html(few_shims(), units=METRIC)
    assert "<title>2026-118: More support on the brakes</title>" in page
    assert "6.5 N m" in page
    assert '<span class="in">4:  17x0.25  NEW</span>' in page.replace("class=in", 'class="in"')
