"""Viscosity and density of oil, against the standards' own figures."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from chemicals.viscosity import viscosity_index
from hypothesis import given
from hypothesis import strategies as st

from damping_model.errors import GeometryError
from damping_model.flow.oil import ISO_VISCOSITY_GRADES, Oil, _inverse_walther, _walther, iso_vg
from damping_model.units import ZERO_CELSIUS, kelvin


def oil(nu40: float = 32.0, nu100: float = 5.4, density: float = 870.0) -> Oil:
    points = ((kelvin(celsius=40), nu40 * 1e-6), (kelvin(celsius=100), nu100 * 1e-6))
    return Oil(name="oil", viscosity_points=points, density_15=density)


def test_the_grades_are_those_of_iso_3448() -> None:
    """Mid-points of VG 2 to VG 150; the third digits of VG 2 to VG 7 are the standard's."""
    assert ISO_VISCOSITY_GRADES == (2.2, 3.2, 4.6, 6.8, 10, 15, 22, 32, 46, 68, 100, 150)
    for nu in ISO_VISCOSITY_GRADES:
        assert iso_vg(round(nu)).kinematic_viscosity(temperature=kelvin(celsius=40)) == pytest.approx(
            nu * 1e-6, rel=1e-12
        )


@pytest.mark.parametrize("grade", [7, 10, 15, 22, 32, 46, 68, 100, 150])
def test_a_grade_has_the_viscosity_index_100_of_astm_d2270(grade: int) -> None:
    """chemicals.viscosity_index is the standard's procedure, written by others."""
    one = iso_vg(grade)
    nu40, nu100 = (one.kinematic_viscosity(temperature=kelvin(celsius=t)) for t in (40, 100))
    assert viscosity_index(nu40, nu100) == pytest.approx(100, abs=0.1)


@pytest.mark.parametrize(("nu40", "nu100", "printed"), [(73.30, 8.86, 92), (22.83, 5.05, 156)])
def test_chemicals_gives_the_index_that_astm_d2270_prints(nu40: float, nu100: float, printed: int) -> None:
    """Worked examples 5.1.4 and 6.1.4 of the standard: the library above is fit to check with."""
    index = viscosity_index(nu40 * 1e-6, nu100 * 1e-6)
    assert index is not None
    assert round(index) == printed


def test_the_worked_example_of_astm_d341_comes_out() -> None:
    """32 mm²/s at 40 °C and 5.4 at 100 °C give 8.5 at 80 °C (printed; its kelvin scale starts at 273)."""
    points = ((40 + 273.0, 32e-6), (100 + 273.0, 5.4e-6))
    one = Oil(name="example", viscosity_points=points)
    at = [one.kinematic_viscosity(temperature=t + 273.0) * 1e6 for t in (0, 20, 60, 80)]
    assert round(at[3], 1) == 8.5
    assert at == pytest.approx([336.07, 86.283, 15.1856, 8.5331], rel=2e-5)


def test_the_kelvin_scale_changes_that_example_by_no_more_than_it_should() -> None:
    """Regression: the same pairs with 273.15."""
    at = [oil().kinematic_viscosity(temperature=kelvin(celsius=t)) * 1e6 for t in (0, 20, 60, 80)]
    assert at == pytest.approx([336.00, 86.278, 15.1859, 8.5332], rel=2e-5)


@pytest.mark.parametrize(("nu", "z"), [(2.0, 2.70075), (1.5, 2.20462), (1.0, 1.72193), (0.5, 1.28066)])
def test_the_low_branch_of_astm_d341_is_kept(nu: float, z: float) -> None:
    """Z of thin oils, computed apart from this code, and back; the standard's own printed inverse is 1e-4 off."""
    assert 10**10 ** _walther(nu) == pytest.approx(z, abs=5e-6)
    assert _inverse_walther(_walther(nu)) == pytest.approx(nu, rel=1e-12)


@pytest.mark.parametrize(
    ("density", "printed"),
    [
        (870.0, [879.39, 866.86, 854.22, 841.49, 828.68, 815.78]),
        (850.0, [859.38, 846.86, 834.22, 821.49, 808.66, 795.76]),
    ],
)
def test_density_follows_the_volume_correction_for_lubricating_oils(
    density: float, printed: list[float]
) -> None:
    """Equation of API MPMS 11.1, computed apart from this code; its constants are from memory, so no proof of them."""
    at = [oil(density=density).density(temperature=kelvin(celsius=t)) for t in (0, 20, 40, 60, 80, 100)]
    assert [round(rho, 2) for rho in at] == printed


def test_density_at_the_reference_temperature_is_the_one_given() -> None:
    assert oil(density=861.0).density(temperature=kelvin(celsius=15)) == pytest.approx(861.0, rel=1e-14)


def test_density_falls_by_about_the_expansion_of_petroleum_oils() -> None:
    """6.3e-4 per kelvin for petroleum oils, after Hamrock (1994); lubricating oils lie near it."""
    one = oil(density=870.0)
    fall = one.density(temperature=kelvin(celsius=20)) / one.density(temperature=kelvin(celsius=30)) - 1
    assert fall / 10 == pytest.approx(6.3e-4, rel=0.2)


@given(
    nu100=st.floats(1.0, 20.0), ratio=st.floats(1.5, 12.0), cold=st.floats(-30, 120), step=st.floats(0.5, 30)
)
def test_colder_oil_is_thicker_and_heavier(nu100: float, ratio: float, cold: float, step: float) -> None:
    one = oil(nu40=nu100 * ratio, nu100=nu100)
    here, there = one.at(temperature=kelvin(celsius=cold)), one.at(temperature=kelvin(celsius=cold + step))
    assert here.dynamic_viscosity > there.dynamic_viscosity
    assert here.density > there.density


@given(nu100=st.floats(0.3, 20.0), ratio=st.floats(1.2, 12.0))
def test_the_two_given_points_are_kept(nu100: float, ratio: float) -> None:
    one = oil(nu40=nu100 * ratio, nu100=nu100)
    for celsius, nu in ((40, nu100 * ratio), (100, nu100)):
        assert one.kinematic_viscosity(temperature=kelvin(celsius=celsius)) == pytest.approx(
            nu * 1e-6, rel=1e-11
        )


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: oil(nu40=5.0, nu100=6.0), "got 5 mm²/s at 40 °C and 6 mm²/s at 100 °C"),
        (lambda: oil(nu40=math.nan), "lower viscosity at the hotter one"),
        (lambda: oil(density=0.86), "got a density of 0.86 kg/m³, expected 700 to 1100"),
        (lambda: iso_vg(20), "got ISO VG 20, expected one of 2, 3, 5, 7, 10"),
        (lambda: oil().at(temperature=40.0), "Is it in °C instead of K?"),
        (lambda: oil().at(temperature=math.nan), "got an oil temperature of nan K"),
        (lambda: Oil(name="x", viscosity_points=((40.0, 32e-6), (100.0, 5e-6))), "Is it in °C instead of K?"),
        (
            lambda: Oil(name="x", viscosity_points=oil().viscosity_points, vapour_pressure=-1),
            "got a vapour pressure of -1",
        ),
    ],
)
def test_what_is_no_oil_is_refused_with_what_was_got_and_expected(
    make: Callable[..., Any], words: str
) -> None:
    with pytest.raises(GeometryError) as error:
        make()
    assert words in str(error.value)


def test_zero_celsius_is_the_standards() -> None:
    assert ZERO_CELSIUS == 273.15
