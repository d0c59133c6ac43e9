"""Every kind that comes with the program fills a file that is read, also when nothing is known."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from optimiser.errors import InputError
from optimiser.files.base import model_of
from optimiser.files.damper_builder import described
from optimiser.files.damper_file import DamperFile
from optimiser.files.entry.entry_questions import MODELS, NewFile, tables_of
from optimiser.files.entry.form_file import OUR_OWN, Form, forms_of
from optimiser.files.entry.toml_written import toml_text

NOWHERE = Path("no shop")
FORMS = [(key, form) for key in MODELS for form in forms_of(key, NOWHERE)]
DAMPERS = [form for key, form in FORMS if key == "damper"]


def of(key: str, stem: str, shop: Path = NOWHERE) -> Form:
    return next(form for form in forms_of(key, shop) if form.source.stem == stem)


@pytest.mark.parametrize(("key", "form"), FORMS, ids=lambda one: getattr(one, "name", one))
def test_a_kind_with_nothing_known_fills_a_file_that_its_own_reader_takes(key: str, form: Form) -> None:
    text = toml_text(tables_of(key, form, {}))
    assert model_of(text, MODELS[key], path=Path("new.toml")).name == "new"


@pytest.mark.parametrize("form", DAMPERS, ids=lambda form: form.name)
def test_the_usual_damper_of_a_kind_can_be_built_and_has_forces_that_rise(form: Form) -> None:
    damper = described(DamperFile.model_validate(tables_of("damper", form, {})), source="new")
    assert [mounted.faults for mounted in damper.stacks] == [()] * len(damper.stacks)
    velocities = np.array([-0.5, -0.1, 0.1, 0.5])
    forces = abs(force_curve(damper.damper, velocities=velocities, steel=SpringSteel()).damping_force)
    assert 50 < forces[1] < forces[0] < 4000
    assert 50 < forces[2] < forces[3] < 2500


def test_every_figure_that_nobody_measured_is_listed_and_a_measured_one_is_not() -> None:
    form = of("damper", "trail_shock")
    nothing = DamperFile.model_validate(tables_of("damper", form, {})).not_measured
    said = {
        "piston": "27 mm",
        "compression ports": "4 of 3.8 mm",
        "oil": "ISO VG 15",
        "thickness": "not known",
    }
    something = DamperFile.model_validate(tables_of("damper", form, said)).not_measured
    gone = {
        "piston_diameter_mm",
        "compression stack.bore_diameter_mm",
        "rebound stack.bore_diameter_mm",
        "piston ring.diameter_mm",
        "compression stack.port_count",
        "compression stack.port_area_mm2",
        "oil.viscosity_mm2_s",
    }
    assert gone <= set(nothing)
    assert not gone & set(something)
    assert something["compression stack.port_length_mm"] == 20
    assert something["base refill check.lift_stop_mm"] == 50


def test_a_weight_of_oil_is_listed_with_how_little_it_says() -> None:
    tables = tables_of("damper", of("damper", "fork_cartridge"), {"oil": "5W"})
    assert tables["oil"]["name"] == "5 weight, as the bottle says"
    assert tables["not_measured"]["oil.viscosity_mm2_s"] == 35


def test_usual_figures_follow_the_measured_ones() -> None:
    small, large = (
        tables_of("damper", of("damper", "trail_shock"), {"compression stack": f"{face}x0.10, 9x0.30"})
        for face in (18, 20)
    )
    seats = [one["valve"][0]["stack"][0]["seat_diameter_mm"] for one in (small, large)]
    assert seats == [pytest.approx(0.86 * 18, rel=1e-3), pytest.approx(0.86 * 20, rel=1e-3)]


def test_what_there_is_none_of_leaves_its_table_out() -> None:
    form = of("damper", "trail_shock")
    tables = tables_of("damper", form, {"compression clicker": "none", "rebound clicker": "10, 4"})
    assert [one["name"] for one in tables["valve"][0]["clicker"]] == ["rebound"]
    assert not any(key.startswith("compression.") for key in tables["not_measured"])
    bike = tables_of("bike", of("bike", "mountain_bike"), {"rear travel": "none"})
    assert [one["name"] for one in bike["corner"]] == ["front"]
    assert "rear.unsprung_mass_kg" not in bike["not_measured"]


def test_a_shop_changes_a_kind_or_adds_one_by_a_file(tmp_path: Path) -> None:
    own = tmp_path / "kinds" / "damper"
    own.mkdir(parents=True)
    shutil.copy(OUR_OWN / "damper" / "trail_shock.toml", own / "trail_shock.toml")
    text = (own / "trail_shock.toml").read_text(encoding="utf-8")
    (own / "trail_shock.toml").write_text(text.replace("usual = 14.0", "usual = 17.0"), encoding="utf-8")
    (own / "hub.toml").write_text('name = "hub damper"\nlike = "trail_shock"\nusual = { stroke = 40.0 }\n')
    changed, added = of("damper", "trail_shock", tmp_path), of("damper", "hub", tmp_path)
    assert tables_of("damper", changed, {})["reservoir"]["gas_pressure_bar"] == 17
    assert tables_of("damper", added, {})["stroke_mm"] == 40
    assert len(forms_of("damper", tmp_path)) == len(DAMPERS) + 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            'name = "x"\nlike = "nothing"\n',
            "hub.toml: like: got 'nothing', expected a kind of the same folder",
        ),
        (
            'name = "x"\nlike = "trail_shock"\nusual = { pistn = 1 }\n',
            "hub.toml: usual: got 'pistn', expected",
        ),
        ('name = "x"\n', "expected: figures and a file to fill, or like"),
        (
            'name = "x"\n[[figure]]\nkey = "a"\nask = "?"\n[file]\nname = "= a"\n',
            "expected: a usual value for 'a'",
        ),
        (
            'name = "x"\n[[figure]]\nkey = "a"\nusual = 1\nreads = "soup"\n[file]\nname = "= a"\n',
            "reads to be one of",
        ),
    ],
)
def test_a_shops_kind_that_cannot_be_used_is_refused_by_file_and_place(
    tmp_path: Path, text: str, said: str
) -> None:
    own = tmp_path / "kinds" / "damper"
    own.mkdir(parents=True)
    (own / "hub.toml").write_text(text)
    with pytest.raises(InputError) as caught:
        forms_of("damper", tmp_path)
    assert said in str(caught.value)


def test_a_kind_whose_usual_values_make_no_damper_is_refused_before_it_asks_anything(tmp_path: Path) -> None:
    own = tmp_path / "kinds" / "damper"
    own.mkdir(parents=True)
    (own / "hub.toml").write_text('name = "hub"\nlike = "trail_shock"\nusual = { shaft = 30.0 }\n')
    entered = NewFile("damper", tmp_path, {"damper kind": "hub"})
    with pytest.raises(InputError) as caught:
        list(entered.questions(lambda damper: damper.name))
    assert "hub.toml: what is usual makes no damper: expected shaft diameter smaller" in str(caught.value)


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("piston_diameter_mm = '= pistn'", "got '= pistn', expected '= 0.8 figure.part' with a figure of it"),
        ("piston_diameter_mm = '= piston.rim'", "got '= piston.rim', expected a part of"),
        ("piston_diameter_mm = '= 2 called'", "expected a number to take so many times"),
        ("piston_diameter_mm = '= ring'", "usual of 'ring': got 5, expected one that reads as ring"),
        ("piston_diameter_mm = '= loop'", "expected a part of"),
    ],
)
def test_a_formula_that_leads_nowhere_is_refused(tmp_path: Path, file: str, said: str) -> None:
    own = tmp_path / "kinds" / "damper"
    own.mkdir(parents=True)
    figures = (
        "[[figure]]\nkey = 'piston'\nusual = 20.0\n[[figure]]\nkey = 'ring'\nreads = 'ring'\nusual = 5\n"
        "[[figure]]\nkey = 'called'\nreads = 'words'\nusual = 'x'\n[[figure]]\nkey = 'loop'\nusual = '= loop'\n"
    )
    (own / "hub.toml").write_text(f"name = 'hub'\n{figures}[file]\n{file}\n")
    with pytest.raises(InputError) as caught:
        tables_of("damper", of("damper", "hub", tmp_path), {})
    assert said in str(caught.value)
