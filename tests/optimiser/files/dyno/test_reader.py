"""Files as machines write them: units, decimals, comments, several runs, and what is said of each."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
import pytest

from damping_model.units import INCH, POUND_FORCE, POUND_PER_SQUARE_INCH, STANDARD_GRAVITY
from optimiser.dyno.given import NOTHING_SETTLED
from optimiser.dyno.run import DynoRun, PlotKind
from optimiser.errors import InputError
from optimiser.files.dyno.columns import Column, ColumnRole
from optimiser.files.dyno.facts import Facts
from optimiser.files.dyno.machine_file import remember
from optimiser.files.dyno.reader import DynoSession, SaidOfFiles, read_session
from tests.helpers.dyno_mangled import TARN, true_force
from tests.helpers.dyno_twins import PLAIN, Layout, Traits, recording, recording_text, table_run, table_text

QUIET: Final = Traits(stiffness=None, warming=0.0, cell_noise=0.05)
TWIN: Final = recording(TARN, speed=0.26, cycles=8, traits=QUIET)
TABLE: Final = table_run(TARN, traits=replace(QUIET, cycle_noise=0.0))

LAYOUTS: Final[dict[str, tuple[Layout, str, str]]] = {
    "s, mm, N": (PLAIN, ",", "."),
    "ms, in, lbf": (
        {
            "time": ("t [ms]", 1e-3),
            "force": ("Load cell [lbf]", POUND_FORCE),
            "displacement": ("Position [in]", INCH),
        },
        ";",
        ",",
    ),
    "s, m, kgf": (
        {
            "displacement": ("disp_m", 1.0),
            "time": ("time_s", 1.0),
            "force": ("force_kgf", STANDARD_GRAVITY),
        },
        "\t",
        ".",
    ),
    "s, mm, kN": (
        {
            "time": ("Elapsed, s", 1.0),
            "displacement": ("Travel, mm", 1e-3),
            "force": ("Force, kN", 1e3),
        },
        ";",
        ".",
    ),
}


def read(folder: Path, text: str, **said: object) -> DynoSession:
    path = folder / "run.csv"
    path.write_text(text, encoding="utf-8")
    return read_session([path], said=SaidOfFiles(**said))  # type: ignore[arg-type]


def assert_true(run: DynoRun, share: float = 0.01) -> None:
    assert run.peaks
    for point in run.peaks:
        assert point.force == pytest.approx(true_force(TARN, point.velocity), rel=share, abs=1.0)


@pytest.mark.parametrize("name", LAYOUTS)
def test_units_marks_and_the_order_of_columns_make_no_difference(name: str, tmp_path: Path) -> None:
    layout, delimiter, decimal = LAYOUTS[name]
    text = recording_text(TWIN, layout=layout, delimiter=delimiter, decimal=decimal)
    (run,) = read(tmp_path, text).runs
    assert_true(run)
    assert run.stroke == pytest.approx(38.1e-3, rel=1e-3)


@pytest.mark.parametrize(
    ("unit", "size"),
    [("m/s", 1.0), ("mm/s", 1e-3), ("in/s", INCH), ("ips", INCH), ("mm s-1", 1e-3), ("mm/sec", 1e-3)],
)
def test_a_table_reads_alike_in_any_unit_of_velocity(unit: str, size: float, tmp_path: Path) -> None:
    rows = "".join(f"{point.velocity / size:.5f};{point.force / POUND_FORCE:.4f}\n" for point in TABLE.points)
    (run,) = read(tmp_path, f"Peak velocity ({unit});Peak force (lbf)\n{rows}").runs
    assert run.kind is PlotKind.PEAK_VELOCITY
    assert len(run.points) == len(TABLE.points)
    assert_true(run)


def test_units_may_stand_in_a_line_of_their_own(tmp_path: Path) -> None:
    head, _, rows = recording_text(TWIN).partition("\n")
    assert head == "Time (s),Displacement (mm),Force (N)"
    (run,) = read(tmp_path, f"Time,Displacement,Force\ns,mm,N\n{rows}").runs
    assert_true(run)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_the_encodings_of_older_machines_are_read(encoding: str, tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(("# temperature: 40 °C\n" + recording_text(TWIN)).encode(encoding))
    (run,) = read_session([path]).runs
    assert run.temperature == pytest.approx(313.15)
    assert_true(run)


def test_what_is_said_in_front_of_a_run_is_read_with_its_units(tmp_path: Path) -> None:
    about = [
        "Run: after lunch",
        "rebound clicks: 7",
        "clicks low-speed compression = 4",
        "temperature: 104 F",
    ]
    about += ["gas pressure: 200 psi", "stroke: 1.5 in", "sample rate: 800", "weather: fine"]
    session = read(tmp_path, recording_text(TWIN, about=about))
    (run,) = session.runs
    assert run.name == "after lunch"
    assert run.clicks == {"rebound": 7, "low-speed compression": 4}
    assert run.temperature == pytest.approx(313.15)
    assert run.gas_pressure == pytest.approx(200 * POUND_PER_SQUARE_INCH, rel=1e-4)
    assert run.stroke == pytest.approx(38.1e-3)
    assert any("1 lines of words" in note for note in session.notes)


def test_words_in_cells_of_their_own_in_front_of_the_header_do_too(tmp_path: Path) -> None:
    (run,) = read(tmp_path, f"Temperature,40 C\nGas pressure (bar),25\n\n{recording_text(TWIN)}").runs
    assert run.temperature == pytest.approx(313.15)
    assert run.gas_pressure == pytest.approx(25e5)


def test_a_temperature_or_stroke_without_its_unit_is_left_out_and_said(tmp_path: Path) -> None:
    (run,) = read(tmp_path, recording_text(TWIN, about=["temperature: 40", "stroke: 38"])).runs
    assert run.temperature is None
    assert sum("has no unit and is left out" in note for note in run.notes) == 2


def test_runs_parted_by_blank_lines_words_headers_or_the_clock_are_runs_of_their_own(tmp_path: Path) -> None:
    one, rows = recording_text(TWIN), recording_text(TWIN).partition("\n")[2]
    for text in (f"{one}\n{rows}", f"{one}\n\n{one}", f"{one}# rebound clicks: 3\n{rows}", f"{one}{rows}"):
        runs = read(tmp_path, text).runs
        assert len(runs) == 2
        for run in runs:
            assert_true(run)
    assert [dict(run.clicks) for run in read(tmp_path, f"{one}# rebound clicks: 3\n{rows}").runs] == [
        {},
        {"rebound": 3},
    ]


def test_a_run_column_and_columns_of_clicks_part_a_table(tmp_path: Path) -> None:
    rows = "".join(
        f"{name};{clicks};{40 + clicks};{point.velocity:.4f};{point.force:.2f}\n"
        for name, clicks in (("a", 2), ("b", 12))
        for point in TABLE.points
    )
    session = read(tmp_path, f"Run;Rebound clicks;Temp (C);Velocity (m/s);Force (N)\n{rows}")
    assert [(run.name, dict(run.clicks)) for run in session.runs] == [
        ("a", {"rebound": 2}),
        ("b", {"rebound": 12}),
    ]
    assert [round(run.temperature or 0) for run in session.runs] == [315, 325]
    for run in session.runs:
        assert_true(run)


def test_strokes_below_one_another_are_one_run_and_forces_in_columns_by_stroke_are_signed(
    tmp_path: Path,
) -> None:
    halves = [[point for point in TABLE.points if point.sign == sign] for sign in (1.0, -1.0)]
    blocks = "\n".join("".join(f"{p.velocity:.4f},{p.force:.2f}\n" for p in half) for half in halves)
    (run,) = read(tmp_path, f"Velocity (m/s),Force (N)\n{blocks}").runs
    assert_true(run)
    pairs = zip(halves[0], reversed(halves[1]), strict=True)
    rows = "".join(f"{one.velocity:.4f},{one.force:.2f},{other.force:.2f}\n" for one, other in pairs)
    (split,) = read(tmp_path, f"Velocity (m/s),Compression (N),Rebound (N)\n{rows}").runs
    assert_true(split)
    assert "The columns name the strokes." in split.notes


def test_velocity_over_time_will_do_for_displacement_and_may_not_contradict_it(tmp_path: Path) -> None:

    velocity = np.gradient(TWIN.displacement, TWIN.time)
    rows = list(zip(TWIN.time, TWIN.displacement, velocity, TWIN.force, strict=True))
    text = "".join(f"{t:.5f},{v:.5f},{f:.3f}\n" for t, _, v, f in rows)
    (run,) = read(tmp_path, f"Time (s),Velocity (m/s),Force (N)\n{text}").runs
    assert_true(run)
    text = "".join(f"{t:.5f},{1000 * x:.4f},{v:.5f},{f:.3f}\n" for t, x, v, f in rows)
    head = "Time (s),Displacement (mm),Velocity ({}),Force (N)\n"
    assert_true(read(tmp_path, head.format("m/s") + text).runs[0])
    with pytest.raises(InputError, match="One of the units is wrong"):
        read(tmp_path, head.format("in/s") + text)


def test_guessed_columns_are_said_and_what_a_person_says_goes_before_the_guess(tmp_path: Path) -> None:
    session = read(tmp_path, recording_text(TWIN))
    assert "columns guessed from their words: 'Time (s)' is time in s" in session.notes[0]
    foreign: Layout = {"time": ("Zeit", 1.0), "displacement": ("Weg", 1e-3), "force": ("Kraft", 1.0)}
    text = recording_text(TWIN, layout=foreign)
    with pytest.raises(InputError, match="--column"):
        read(tmp_path, text)
    columns = (
        Column("Zeit", ColumnRole.TIME, "s"),
        Column("weg", ColumnRole.DISPLACEMENT, "mm"),
        Column("Kraft", ColumnRole.FORCE, "n"),
    )
    said = read(tmp_path, text, columns=columns)
    assert "columns as you say" in said.notes[0]
    assert_true(said.runs[0])


def test_a_machine_once_remembered_is_recognised_by_its_headers(tmp_path: Path) -> None:
    (tmp_path / "dampers").mkdir()
    (tmp_path / "dyno").mkdir()
    foreign: Layout = {"time": ("Zeit", 1.0), "displacement": ("Weg", 1e-3), "force": ("Kraft", 1.0)}
    path = tmp_path / "dyno" / "run.csv"
    path.write_text(recording_text(TWIN, layout=foreign), encoding="utf-8")
    columns = (
        Column("Zeit", ColumnRole.TIME, "s"),
        Column("Weg", ColumnRole.DISPLACEMENT, "mm"),
        Column("Kraft", ColumnRole.FORCE, "n"),
    )
    place = remember(path, "the blue one", columns)
    assert place == tmp_path / "dyno_machines" / "the blue one.toml"
    session = read_session([path])
    assert "as remembered of the machine 'the blue one'" in session.notes[0]
    assert session.columns == columns
    assert_true(session.runs[0])
    with pytest.raises(InputError, match=r"--machine: got 'red', expected .*'the blue one'"):
        read_session([path], said=SaidOfFiles(machine="red"))
    place.write_text(place.read_text(encoding="utf-8").replace('"mm"', '"furlong"'), encoding="utf-8")
    with pytest.raises(InputError, match=r"the blue one.toml: got the unit 'furlong' for displacement"):
        read_session([path])


def test_no_machine_s_name_leads_out_of_its_folder(tmp_path: Path) -> None:
    for name in ("../evil", "a/b", "", ".hidden", "x" * 80):
        with pytest.raises(InputError, match="expected letters"):
            remember(tmp_path / "run.csv", name, [])


def test_clicks_get_the_names_of_the_damper_and_are_held_to_its_range(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    for words, expected in (
        ("compression clicks: 4", {"low-speed compression": 4}),
        ("Rebound clicks: 7", {"rebound": 7}),
        ("reb clicks: 7", {"rebound": 7}),
        ("bump clicks: 4", {"low-speed compression": 4}),
    ):
        path.write_text(recording_text(TWIN, about=[words]), encoding="utf-8")
        assert read_session([path], damper=TARN).runs[0].clicks == expected
    path.write_text(recording_text(TWIN, about=["high-speed clicks: 4"]), encoding="utf-8")
    with pytest.raises(InputError, match=r"got clicks of 'high-speed', expected one adjuster of Tarn"):
        read_session([path], damper=TARN)


def test_what_a_person_says_of_the_runs_goes_before_what_their_file_says(tmp_path: Path) -> None:
    facts = Facts(clicks={"rebound": 2}, temperature=300.0, gas_pressure=5e5, stroke=38e-3)
    text = recording_text(TWIN, about=["rebound clicks: 7", "temperature: 40 C"])
    (run,) = read(tmp_path, text, facts=facts).runs
    assert (run.clicks, run.temperature, run.gas_pressure, run.stroke) == ({"rebound": 2}, 300.0, 5e5, 38e-3)


def test_files_of_one_session_share_what_a_slow_run_tells(tmp_path: Path) -> None:
    paths = []
    for number, speed in enumerate((0.01, 0.52)):
        paths.append(tmp_path / f"{number}.csv")
        twin = recording(TARN, speed=speed, cycles=6, traits=replace(QUIET, rate=200.0))
        paths[-1].write_text(recording_text(twin), encoding="utf-8")
    slow, fast = read_session(paths, settled=NOTHING_SETTLED).runs
    assert slow.gas is not None
    assert fast.gas == slow.gas
    assert read_session(paths[1:]).runs[0].gas is None


def test_a_table_as_written_by_a_spreadsheet_with_thousands_is_read(tmp_path: Path) -> None:
    text = 'Velocity (m/s);Force (N)\n0,13;"444,0"\n1,04;1.436,6\n-0,13;-284,7\n-1,04;-1.483,2\n'
    (run,) = read(tmp_path, text).runs
    assert [point.force for point in run.points] == [-1483.2, -284.7, 444.0, 1436.6]


def test_the_twin_s_own_text_has_the_lines_that_it_says(tmp_path: Path) -> None:
    text = table_text(TABLE)
    (run,) = read(tmp_path, text).runs
    first, last = run.lines
    lines = text.splitlines()
    assert lines[first - 2] == "Velocity (m/s),Force (N)"
    assert last == len(lines)
