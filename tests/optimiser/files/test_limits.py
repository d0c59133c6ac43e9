"""What would take minutes or gigabytes is refused on reading, by a limit that the message names."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from damping_model.stack.reference_cases import ReferenceFileError, reference_cases
from optimiser.errors import InputError
from optimiser.files.catalogue import catalogue_from_text
from optimiser.files.damper_builder import read_damper
from optimiser.files.shelf import shelf_from_text
from optimiser.files.stack_text import MOST_RUNS, shims_from_lines
from tests.helpers.paths import ROOT, STIFF_SHOP

DAMPER = (STIFF_SHOP / "dampers" / "tarn_shock.toml").read_text(encoding="utf-8")
QUICK = 3.0
"""What a refusal may take on a busy machine. [s]"""


def refusal(read: Callable[[], object]) -> str:
    begun = time.process_time()
    with pytest.raises((InputError, ReferenceFileError, ValueError)) as refused:
        read()
    assert time.process_time() - begun < QUICK
    assert len(str(refused.value)) < 10_000
    return str(refused.value)


def test_five_thousand_unknown_keys_are_told_by_their_number(tmp_path: Path) -> None:
    path = tmp_path / "damper.toml"
    path.write_text("".join(f"key_{n} = {n}\n" for n in range(5000)) + DAMPER, encoding="utf-8")
    assert "keys, expected at most 4000" in refusal(lambda: read_damper(path))


def test_three_thousand_unknown_keys_are_told_by_the_first_twenty(tmp_path: Path) -> None:
    path = tmp_path / "damper.toml"
    path.write_text("".join(f"key_{n} = {n}\n" for n in range(3000)) + DAMPER, encoding="utf-8")
    said = refusal(lambda: read_damper(path))
    assert said.count("unknown key") == 20
    assert said.endswith("... and 2980 more faults.")


def test_a_stack_of_two_hundred_diameters_is_refused() -> None:
    lines = [f"{50 - n * 0.2:g}x0.10" for n in range(200)]
    assert "another size follows at most 40 times, got 200" in refusal(
        lambda: shims_from_lines(lines, hole_mm=4)
    )


def test_a_wild_stack_of_fifty_shims_is_refused() -> None:
    lines = [f"{20 + n * 7 % 23}x0.{10 + n % 3}" for n in range(50)]
    assert "another size follows at most 40 times, got 50" in refusal(
        lambda: shims_from_lines(lines, hole_mm=8)
    )


def test_a_stack_of_many_shims_is_refused_and_a_real_one_is_not() -> None:
    assert "at most 200 shims in a stack, got 300" in refusal(
        lambda: shims_from_lines(["150 of 20x0.10"] * 3, hole_mm=8)
    )
    longest = [f"2 of {44 - n * 0.5:g}x0.15" for n in range(MOST_RUNS)]
    assert len(shims_from_lines(longest, hole_mm=8)) == 80


@pytest.mark.parametrize(
    ("read", "head"),
    [
        (shelf_from_text, "outer_mm,thickness_mm,hole_mm,count"),
        (catalogue_from_text, "outer_mm,thickness_mm,hole_mm"),
    ],
)
def test_a_shelf_of_more_types_than_anybody_has_is_refused(read: Callable[..., object], head: str) -> None:
    more = ",1" if "count" in head else ""
    text = head + "\n" + "".join(f"{10 + n * 0.01:.2f},0.15,8{more}\n" for n in range(3000))
    assert refusal(lambda: read(text, name="types.csv")).startswith(
        "types.csv:2002: got more than 2000 lines"
    )


def test_a_bench_test_with_a_stack_of_hundreds_is_refused() -> None:
    document = json.loads((ROOT / "tests" / "reference" / "fe_cases.json").read_text(encoding="utf-8"))
    case = document["cases"][0]
    case["inputs"]["shims"] = [{"od": 30 - n * 0.05, "t": 0.1, "id": 8} for n in range(200)]
    said = refusal(lambda: reference_cases(json.dumps({"cases": [case]}), name="mine.json"))
    assert "inputs.shims': got a list of 200, expected 1 to 60 entries" in said


def test_a_valve_of_a_thousand_holes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "damper.toml"
    hole = '[[valve.bleed]]\nname = "hole {}"\ndiameter_mm = 1\n'
    path.write_text(DAMPER + "".join(hole.format(n) for n in range(1000)), encoding="utf-8")
    assert "at most 12 items" in refusal(lambda: read_damper(path))
