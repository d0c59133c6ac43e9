"""What if, typed: stacks, candidates, clicks, oils and other dampers, in text, for programs and as a page."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimiser.files.damper_builder import read_damper
from optimiser.files.stack_text import lines_from_shims
from optimiser.model.edits import keys_of
from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

pytestmark = pytest.mark.usefixtures("shop", "plans_once")

JOB = "jobs/a_more_support.toml"
DAMPER = "dampers/tarn_shock.toml"


@pytest.fixture
def stack(shop: Path) -> list[str]:
    """The job's stack as lines, from the piston outwards."""
    mounted = read_damper(shop / DAMPER).stack_named("compression stack", where="test")
    return lines_from_shims(keys_of(mounted.stack), hole=round(1e6 * mounted.mounting.hole_diameter))


def test_a_stack_typed_as_it_is_changes_nothing_and_a_thinner_one_does(
    typed: Typed, stack: list[str]
) -> None:
    thinner = ["3 of 20x0.10", *stack[1:]]
    tries = (", ".join(stack), "soft=" + "; ".join(thinner), "bought=in 2 of 33x0.10 (1st)")
    seen = typed("compare", JOB, *(word for one in tries for word in ("--try", one)), "--json")
    assert seen.code == 0, seen.err
    document = json.loads(seen.out)
    assert document["format"] == "shimwright compare 1"
    assert [case["label"] for case in document["cases"]] == ["as it is", "the same stack", "soft", "bought"]
    first, same, soft, bought = document["cases"]
    assert "Not on the shelf: 33x0.10 (2 needed, 0 there)." in bought["mind"]
    assert same["stack"] == first["stack"]
    assert same["bands"] == first["bands"]
    assert all(band["change_n"] < 0 and band["average_percent"] < 0 for band in soft["bands"])
    assert all(band["in_range"] is not None for band in soft["bands"])
    assert soft["height_mm"] < first["height_mm"]


def test_every_setting_is_shown_with_every_stack_and_measured_against_the_first(typed: Typed) -> None:
    seen = typed("compare", JOB, "--try", "out 20x0.10", "--clicks", "rebound=0", "--celsius", "60")
    assert seen.code == 0, seen.err
    labels = ["as it is", "60 °C", "rebound 0 out", "rebound 0 out, 60 °C"]
    labels += ["20x0.10 out", *(f"20x0.10 out, {label}" for label in labels[1:])]
    for number, label in enumerate(labels, 1):
        assert f"\n{number}  {label}\n" in seen.out


def test_other_oil_is_named_and_thicker_oil_damps_more(typed: Typed) -> None:
    oils = ("--oil", "VG 46", "--oil", "60@40 8@100", "--oil", "dampers/dunnock_shock.toml")
    cases = json.loads(typed("compare", JOB, *oils, "--json").out)["cases"]
    assert [case["oil"] for case in cases[1:3]] == ["ISO VG 46", "60@40 8@100"]
    forces = [case["bands"][0]["average_force_n"] for case in cases]
    assert forces[0] < forces[1] < forces[2]


def test_what_nobody_measured_stands_below_the_damper_as_it_is(typed: Typed, shop: Path) -> None:
    path = shop / DAMPER
    path.write_text(path.read_text() + '\n[not_measured]\n"reservoir.gas_pressure_bar" = 10\n')
    seen = typed("compare", JOB)
    assert seen.code == 0, seen.err
    assert "Not measured: gas pressure of 'reservoir' (± 10 %)" in " ".join(seen.out.split())


def test_too_many_at_once_are_refused(typed: Typed) -> None:
    seen = typed("compare", JOB, "--clicks", "rebound=0,1,2,3,4,5", "--celsius", "20,60")
    assert seen.code == 2
    assert "expected at most 12" in seen.err


def test_dampers_are_shown_in_the_usual_bands_of_both_strokes(typed: Typed, shop: Path) -> None:
    seen = typed("compare", DAMPER, "dampers/dunnock_shock.toml", "--units", "imperial")
    assert seen.code == 0, seen.err
    assert "lbf" in seen.out
    assert "verdict" not in seen.out
    for band in ("low speed: compression", "high speed: compression", "mid speed: rebound"):
        assert band in seen.out
    page = (shop / "dampers" / "tarn_shock_compared.html").read_text(encoding="utf-8")
    assert "lbf" in page
    assert page.count("<svg") >= 2


def test_a_stack_read_from_a_file_and_its_faults_are_named(
    typed: Typed, shop: Path, stack: list[str]
) -> None:
    (shop / "mine.txt").write_text(
        "# mine\n" + "\n".join(f"{n}. {line}" for n, line in enumerate(stack[:-1], 1))
    )
    seen = typed("compare", JOB, "--read", "mine.txt")
    assert seen.code == 0, seen.err
    assert "Cannot be built: The clamp shim" in " ".join(seen.out.split())
    (shop / "mine.txt").write_text("20x0.10\n8x20x0.10\n")
    seen = typed("compare", JOB, "--read", "mine.txt")
    assert seen.code == 2
    assert "mine.txt: expected line 2, entry 1: one meaning, got '8x20x0.10'" in seen.err


@thorough_only(
    "searches; the same figures from the library are held quickly in tests/optimiser/jobs/test_what_if.py"
)
def test_candidates_of_a_plan_have_the_figures_that_the_plan_has(typed: Typed, shop: Path) -> None:
    planned = typed("plan", "jobs/b_clicks_do.toml", "--json")
    (shop / "plan.json").write_text(planned.out, encoding="utf-8")
    plan = json.loads(planned.out)
    seen = typed("compare", "jobs/b_clicks_do.toml", "--plan", "plan.json", "--pick", "1", "--json")
    assert seen.code == 0, seen.err
    case, candidate = json.loads(seen.out)["cases"][1], plan["candidates"][0]
    assert case["stack"] == candidate["stack"]
    for ours, theirs in zip(case["bands"], candidate["bands"], strict=True):
        assert ours["force_n"] == theirs["after_n"]
        for key, its in (("average_force_n", "average_after_n"), ("average_percent", "average_percent")):
            assert ours[key] == theirs[its]
    seen = typed(
        "compare", "dampers/dunnock_shock.toml", "--stack", "compression stack", "--plan", "plan.json"
    )
    assert seen.code == 2
    assert "Plan this job again" in seen.err


def test_each_shim_is_tried_in_the_order_of_the_stack_and_what_cannot_be_built_says_why(
    typed: Typed, stack: list[str], shop: Path
) -> None:
    seen = typed("compare", JOB, "--each-shim")
    assert seen.code == 0, seen.err
    table = seen.out[seen.out.index("What each shim does") :]
    places = [table.index(f" {line} ") for line in stack]
    assert places == sorted(places)
    assert "one out: The clamp shim" in table
    assert (shop / "jobs" / "a_more_support_compression_stack_each_shim.html").exists()


@thorough_only("computes every shim of a stack once more")
def test_each_shim_has_its_keys_for_programs(typed: Typed) -> None:
    document = json.loads(typed("compare", JOB, "--each-shim", "--json").out)
    assert sum(one["shim"]["count"] for one in document["each_shim"]) == len(document["cases"][0]["stack"])
    last = document["each_shim"][-1]["out"]
    assert last["bands"] == []
    assert last["cannot_be_built"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--try", "20x"), "--try: expected line 1, entry 1: a shim like"),
        (("--try", "out 33x0.10"), "which does not lie in it"),
        (("--pick", "1"), "--pick: got it without --plan"),
        (("--oil", "syrup"), "--oil: got 'syrup', expected a grade such as 'VG 15'"),
        (("--oil", "VG 16"), "--oil: got ISO VG 16"),
        (("--clicks", "reboun=1"), "--clicks: got 'reboun', expected one of"),
        (("--celsius", "hot"), "--celsius: got 'hot', expected temperatures"),
        (("--band", "low=0.1-0.2"), "--band: got it beside a job"),
        (("--stack", "main"), "--stack"),
        (("--read", "nowhere.txt"), "nowhere.txt: no such file"),
        (("jobs/b_clicks_do.toml",), "jobs/b_clicks_do.toml: got a file without chambers and valves"),
    ],
)
def test_what_cannot_be_used_is_refused_with_the_way_out(
    typed: Typed, shop: Path, words: tuple[str, ...], said: str
) -> None:
    seen = typed("compare", JOB, *words)
    assert seen.code == 2
    assert said in " ".join(seen.err.split())
    assert not list((shop / "jobs").glob("*compared.html"))


def test_a_damper_with_several_stacks_has_to_be_told_which_is_meant(typed: Typed) -> None:
    seen = typed("compare", DAMPER, "--each-shim")
    assert seen.code == 2
    assert "--stack: missing; expected one of 'compression stack'" in seen.err
