"""A stack drawn with letters shows its shims to scale, in the order in which they lie."""

from optimiser.files.base import read_toml
from optimiser.files.damper_builder import read_damper
from optimiser.files.damper_file import DamperFile
from optimiser.report.section_text import WIDTH, damper_drawing, section_lines
from tests.helpers.paths import STIFF_SHOP

TARN = STIFF_SHOP / "dampers" / "tarn_shock.toml"


def test_every_size_has_a_line_as_wide_as_the_shim_the_one_on_the_piston_last() -> None:
    mounted = read_damper(TARN).stack_named("compression stack", where="test")
    head, *lines, piston, foot = section_lines(mounted)
    assert head.startswith("compression stack, half section")
    assert lines[0].endswith("9x0.30")
    assert lines[-1].endswith("1\N{EN DASH}6:  6 of 20x0.10")
    widths = [len(line.removeprefix("  ").partition("|")[0].rstrip()) for line in lines]
    bore = 2 * mounted.mounting.bore_radius
    assert widths[-1] == round(WIDTH * 20e-3 / bore)
    assert widths[0] == round(WIDTH * 9e-3 / bore)
    assert {line.index("|") for line in (*lines, piston)} == {WIDTH + 2}
    assert "lip '=' to 17.0 mm" in piston
    assert foot.strip().startswith(f"{len(mounted.stack.shims)} shims, ")


def test_a_damper_is_drawn_stack_by_stack() -> None:
    drawing = damper_drawing(read_toml(TARN, DamperFile, what="damper"))
    assert drawing.count("half section") == 2
