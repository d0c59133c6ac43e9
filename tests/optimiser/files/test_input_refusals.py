"""Files that cannot be used are refused in one message: file, line, field, what was got, what was expected, the way out."""

from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.bike_file import BikeFile
from optimiser.files.damper_file import DamperFile
from optimiser.files.job_file import JobFile
from tests.helpers.paths import STIFF_SHOP

SHOP = STIFF_SHOP
DAMPER = (SHOP / "dampers" / "tarn_shock.toml").read_text(encoding="utf-8")
JOB = (SHOP / "jobs" / "a_more_support.toml").read_text(encoding="utf-8")


def refusal(
    tmp_path: Path,
    text: str,
    model: type[BikeFile | DamperFile | JobFile],
    what: str,
    name: str = "given.toml",
) -> str:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_toml(path, model, what=what)
    return str(refused.value).replace(str(tmp_path) + "/", "")


def edited(text: str, old: str, new: str) -> str:
    assert text.count(old) >= 1
    return text.replace(old, new, 1)


def damper_refusal(tmp_path: Path, old: str, new: str) -> str:
    return refusal(tmp_path, edited(DAMPER, old, new), DamperFile, "damper")


def line_of(text: str, start: str) -> int:
    return 1 + next(number for number, line in enumerate(text.splitlines()) if line.startswith(start))


def test_a_missing_file_is_named_with_the_nearest_one(tmp_path: Path) -> None:
    (tmp_path / "damper.toml").write_text("", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_toml(tmp_path / "dampr.toml", DamperFile, what="damper")
    assert str(refused.value) == (
        f"{tmp_path}/dampr.toml: no such file; expected a damper file. Did you mean {tmp_path}/damper.toml?"
    )


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("82,5", "got 82,5; expected a number with a point, without a unit; write 82.5."),
        ("82.5 kg  # dressed", "got 82.5 kg; expected a number with a point, without a unit; write 82.5."),
        (
            "182 lb",
            "got 182 lb; expected a number with a point, without a unit; write 82.55.",
        ),
        (
            "13 stone",
            "got 13 stone; expected a number with a point, without a unit; write the number alone, in the unit that 'mass_kg' ends with.",
        ),
    ],
)
def test_a_number_with_a_comma_or_a_unit_says_its_line_its_key_and_what_to_write(
    tmp_path: Path, typed: str, said: str
) -> None:
    message = refusal(tmp_path, f'name = "x"\nmass_kg = {typed}\n', BikeFile, "bike")
    assert message == f"given.toml:2: mass_kg: {said}"


def test_a_file_that_is_not_toml_says_where(tmp_path: Path) -> None:
    message = refusal(tmp_path, 'name = "x"\nfits = shock\n', DamperFile, "damper")
    assert message.startswith("given.toml: not TOML: ")
    assert "line 2" in message
    assert message.endswith("Mend that place; strings need quotes, tables [brackets].")


def test_a_misspelt_key_is_one_fault_that_names_the_nearest_known_one(tmp_path: Path) -> None:
    line = line_of(DAMPER, "stroke_mm")
    message = damper_refusal(tmp_path, "stroke_mm =", "strok_mm =")
    assert message == f"given.toml:{line}: strok_mm: unknown key. Did you mean 'stroke_mm'?"


def test_a_key_that_is_missing_beside_the_slip_of_another_is_still_told(tmp_path: Path) -> None:
    text = DAMPER.replace("port_inner_diameter_mm =", "port_inner_diametr_mm =", 1)
    there = next(line for line in text.splitlines(keepends=True) if "port_outer_diameter_mm" in line)
    message = refusal(tmp_path, text.replace(there, "", 1), DamperFile, "damper")
    assert "port_inner_diametr_mm: unknown key. Did you mean 'port_inner_diameter_mm'?" in message
    assert "port_outer_diameter_mm: missing; expected it in this table. Add the key." in message
    assert message.count("\n") == 1


def test_an_unknown_key_inside_a_table_of_a_list_names_its_line(tmp_path: Path) -> None:
    line = line_of(DAMPER, "open_share")
    message = damper_refusal(tmp_path, "open_share =", "opn_share =")
    assert (
        message
        == f"given.toml:{line}: valve 'main piston'.stack 'compression stack'.opn_share: unknown key. Did you mean 'open_share'?"
    )


def test_a_thickness_of_15_instead_of_0_15_is_seen(tmp_path: Path) -> None:
    message = damper_refusal(tmp_path, '"15x0.15"', '"15x15"')
    assert "expected: a thickness from 0.03 to 1 mm, got 15 in '15x15'; did you mean 0.15?" in message
    assert message.startswith("given.toml:")


def test_a_number_that_is_nan_is_refused(tmp_path: Path) -> None:
    message = damper_refusal(tmp_path, "piston_diameter_mm = 27.0", "piston_diameter_mm = nan")
    assert (
        message
        == f"given.toml:{line_of(DAMPER, 'piston_diameter_mm')}: piston_diameter_mm: got nan; expected: a finite number."
    )


def test_an_empty_stack_is_refused(tmp_path: Path) -> None:
    start = DAMPER.index("shims = [\n")
    end = DAMPER.index("]", start)
    text = DAMPER[:start] + "shims = [" + DAMPER[end:]
    message = refusal(tmp_path, text, DamperFile, "damper")
    assert (
        "expected: at least one shim; a stack without shims closes no port. List them from the piston outwards."
        in message
    )


def test_a_hole_larger_than_the_clamp_is_refused(tmp_path: Path) -> None:
    message = damper_refusal(tmp_path, "hole_mm = 8.0", "hole_mm = 9.5")
    assert (
        "expected: clamp_diameter_mm between hole_mm (9.5) and port_inner_diameter_mm (10), got 9." in message
    )


def test_a_clicker_table_that_falls_is_refused(tmp_path: Path) -> None:
    message = damper_refusal(tmp_path, "0.12, 0.16", "0.18, 0.16")
    assert "expected: area_mm2 that never falls with clicks out, got 0.18 at 0 and 0.16 at 1." in message


def test_a_chamber_that_is_not_there_is_named_with_those_that_are(tmp_path: Path) -> None:
    message = damper_refusal(
        tmp_path, 'between = ["below the piston", "gas side"]', 'between = ["below the piston", "gas"]'
    )
    assert (
        "expected: valve 'base valve' between two of below the piston, above the piston, gas side, got 'gas'."
        in message
    )


def test_a_file_of_50_megabytes_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "huge.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    with pytest.raises(InputError) as refused:
        read_toml(path, DamperFile, what="damper")
    assert str(refused.value) == (
        f"{path}: got more than 5 MB, expected a damper file under it. Check that this is the right file."
    )


def test_a_band_that_runs_backwards_is_refused_by_name(tmp_path: Path) -> None:
    message = refusal(tmp_path, edited(JOB, "from_m_s = 0.06", "from_m_s = 0.60"), JobFile, "job")
    assert (
        "expected: band 'low-speed support' to run from a lower to a higher velocity, "
        "got from_m_s 0.6 and to_m_s 0.12; swap them."
    ) in message


def test_a_job_that_moves_nothing_is_refused(tmp_path: Path) -> None:
    text = JOB[: JOB.index("[complaint]")]  # with a rider's words the reader says more
    message = refusal(tmp_path, text, JobFile, "job")
    assert "at least one [[target]], or a symptom, an event or velocities under [complaint]" in message


def test_a_leverage_curve_that_runs_backwards_is_refused(tmp_path: Path) -> None:
    bike = (SHOP / "bikes" / "oxlip_trail.toml").read_text(encoding="utf-8")
    message = refusal(
        tmp_path, edited(bike, "[35, 2.72], [70, 2.545]", "[70, 2.545], [35, 2.72]"), BikeFile, "bike"
    )
    assert message.startswith("given.toml:")
    assert "70" in message
    assert "35" in message


def test_bytes_that_are_not_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "damper.toml"
    path.write_bytes(b"name = '\xff\xfe'")
    with pytest.raises(InputError) as refused:
        read_toml(path, DamperFile, what="damper")
    assert (
        str(refused.value) == f"{path}: byte 8 is not UTF-8 text; expected a damper file. Save it as UTF-8."
    )


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "gas_pressure_bar = 25.0",
            "gas_pressure_bar = -1.0",
            "reservoir.gas_pressure_bar: got -1.0; expected: 0 to 60 bar: gauge pressure is not negative, and seals blow beyond; check the number and its unit.",
        ),
        (
            "clearance_mm = 0.012",
            "clearance_mm = 0.0",
            "valve 'main piston'.leak 'piston ring'.clearance_mm: got 0.0; expected: 0.0005 to 0.5 mm: half a micrometre seizes, half a millimetre is no seal; check the number and its unit.",
        ),
        (
            "eccentricity = 0.5",
            "eccentricity = 1.5",
            "valve 'main piston'.leak 'piston ring'.eccentricity: got 1.5; expected: 0 to 1: offset over clearance: 0 is centred, 1 touches; did you mean 0.15?",
        ),
        (
            "spring_rate_n_mm = 0.8",
            "spring_rate_n_mm = inf",
            "valve 'base valve'.check 'base refill check'.spring_rate_n_mm: got inf; expected: a finite number.",
        ),
        (
            "lift_stop_mm = 1.0",
            'lift_stop_mm = "wide"',
            "valve 'base valve'.check 'base refill check'.lift_stop_mm: got 'wide'; expected: a number without quotes.",
        ),
        (
            "diameter_mm = 1.3",
            "diameter_mm = 25.0",
            "valve 'base valve'.bleed 'base hole'.diameter_mm: got 25.0; expected: 0.05 to 20 mm: a finer hole clogs, a wider one is no bleed; did you mean 2.5?",
        ),
        (
            "open_share = 0.8",
            "open_share = 1.2",
            "valve 'main piston'.stack 'compression stack'.open_share: got 1.2; expected: 0.05 to 1: a lip that lets oil out by less of its round is shut; did you mean 0.12?",
        ),
        (
            "open_share = 0.8",
            'open_share = 0.8\nmomentum = "some"',
            "valve 'main piston'.stack 'compression stack'.momentum: got 'some'; expected: true or false, without quotes.",
        ),
        (
            "open_share = 0.8",
            "open_share = 0.8\nport_discharge = 0.1",
            "valve 'main piston'.stack 'compression stack'.port_discharge: got 0.1; expected: greater than 0.3.",
        ),
        (
            "port_count = 4",
            "port_count = 4.5",
            "valve 'main piston'.stack 'compression stack'.port_count: got 4.5; expected: a whole number.",
        ),
        (
            "seat_diameter_mm = 17.0",
            "seat_diameter_mm = 30.0",
            "expected: seat_diameter_mm smaller than bore_diameter_mm, got 30 and 27.",
        ),
        (
            "room_mm = 4.2",
            'room_mm = "5,0 mm"',
            "room_mm: got '5,0 mm'; expected: a number without quotes; write 5.0.",
        ),
        (
            "room_mm = 4.2",
            'room_mm = "0.2 in"',
            "expected: a number without quotes; write 5.08.",
        ),
        (
            "gas_pressure_bar = 25.0",
            "gas_pressure_bar = 145",
            "got 145; expected: 0 to 60 bar: gauge pressure is not negative, and seals blow beyond; if it is psi, write 9.997.",
        ),
        (
            "gas_pressure_bar = 25.0",
            'gas_pressure_bar = "145 psi"',
            "got '145 psi'; expected: a number without quotes; write 9.997.",
        ),
        (
            'viscosity_mm2_s = { "40" = 14.6, "100" = 3.6 }',
            "viscosity_mm2_s = 14",
            'oil.viscosity_mm2_s: got 14; expected: viscosities at two temperatures in °C, as in { "40" = 16.1, "100" = 3.9 };',
        ),
        ("clicks_out = 6", "clicks_out = 40", "expected: clicks_out from 0 to 12, got 40."),
        (
            '"100" = 3.6',
            '"100" = 36.0',
            "expected: viscosities at exactly two temperatures, lower at the hotter one.",
        ),
        (
            "density_kg_m3 = 858.0",
            "density_kg_m3 = 858.0\niso_vg = 15",
            "expected: either iso_vg or viscosity_mm2_s, and not both.",
        ),
        (
            "temperature_c = 40.0",
            "temperature_c = 400.0",
            "oil.temperature_c: got 400.0; expected: -30 to 150 °C: oil is stiff below and breaks down beyond; did you mean 40?",
        ),
        (
            'shrinks_in = "rebound"',
            'shrinks_in = "both"',
            "chamber 'above the piston'.shrinks_in: got 'both'; expected: 'compression' or 'rebound'.",
        ),
        (
            "shaft_diameter_mm = 10.0",
            "shaft_diameter_mm = 30.0",
            "expected: shaft_diameter_mm smaller than piston_diameter_mm, got 30 and 27.",
        ),
    ],
    ids=lambda value: value if "=" in value and "\n" not in value else "",
)
def test_every_number_of_a_damper_is_held_to_what_is_possible(
    tmp_path: Path, old: str, new: str, message: str
) -> None:
    said = damper_refusal(tmp_path, old, new)
    assert message in said
    assert said.startswith("given.toml:")
