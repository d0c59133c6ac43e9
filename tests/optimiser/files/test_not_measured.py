"""Figures that nobody measured are listed in the file, and every answer says so."""

from dataclasses import replace
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.bike_file import read_machine
from optimiser.files.damper_builder import read_damper
from optimiser.files.job_reader import read_job
from optimiser.jobs.noticed import noticed_in
from optimiser.model.unmeasured import Unmeasured, unmeasured_words
from tests.helpers.paths import STIFF_SHOP


def damper_with(tmp_path: Path, table: str) -> Path:
    path = tmp_path / "damper.toml"
    path.write_text(
        (STIFF_SHOP / "dampers" / "tarn_shock.toml").read_text(encoding="utf-8") + table, encoding="utf-8"
    )
    return path


def test_listed_figures_are_read_in_words_with_how_far_off_they_may_be(tmp_path: Path) -> None:
    table = '\n[not_measured]\nfriction_n = 50\n"compression stack.port_area_mm2" = 30\n"oil.temperature_c" = 10\n'
    assert read_damper(damper_with(tmp_path, table)).not_measured == (
        Unmeasured("friction", 0.5, "", "friction"),
        Unmeasured("port area of 'compression stack'", 0.3, "compression stack", "port_area"),
        Unmeasured("temperature of 'oil'", 0.1, "oil", "temperature"),
    )


@pytest.mark.parametrize(
    ("figure", "said"),
    [
        ("compression stak.port_area_mm2", "did you mean 'compression stack.port_area_mm2'?"),
        ("shaft", "expected: not_measured to name figures of this file, got 'shaft'"),
    ],
)
def test_a_figure_that_the_file_does_not_have_is_refused(tmp_path: Path, figure: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_damper(damper_with(tmp_path, f'\n[not_measured]\n"{figure}" = 20\n'))
    assert said in str(caught.value)


def test_a_figure_that_is_not_off_at_all_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"not_measured\.friction_n: got 0; expected: greater than 0"):
        read_damper(damper_with(tmp_path, "\n[not_measured]\nfriction_n = 0\n"))


def test_a_bike_lists_figures_of_its_corners(tmp_path: Path) -> None:
    path = tmp_path / "bike.toml"
    text = (STIFF_SHOP / "bikes" / "oxlip_trail.toml").read_text(encoding="utf-8")
    path.write_text(text + '\n[not_measured]\n"rear.unsprung_mass_kg" = 30\n', encoding="utf-8")
    assert read_machine(path).not_measured == (
        Unmeasured("unsprung mass of 'rear'", 0.3, "rear", "unsprung_mass"),
    )


def test_the_least_certain_figures_are_named_and_the_others_counted() -> None:
    few = unmeasured_words([Unmeasured("a", 0.1), Unmeasured("b", 0.5)])
    assert few == "b (± 50 %), a (± 10 %)"
    many = unmeasured_words([Unmeasured(f"f{number}", 0.1) for number in range(9)])
    assert many.endswith(", f5 (± 10 %), and 3 more")


def test_every_answer_to_a_job_names_what_was_not_measured() -> None:
    job = read_job(STIFF_SHOP / "jobs" / "a_more_support.toml")
    assert not [one for one in noticed_in(job) if one.what == "not measured"]
    figures = (Unmeasured("friction", 0.5),)
    unsure = replace(
        job,
        damper=replace(job.damper, not_measured=figures),
        machine=replace(job.machine, not_measured=figures),
    )
    said = [one for one in noticed_in(unsure) if one.what == "not measured"]
    assert [one.got for one in said] == [
        f"friction (± 50 %) of {job.damper.name}",
        f"friction (± 50 %) of {job.machine.name}",
    ]
    assert not any(one.stops for one in said)
