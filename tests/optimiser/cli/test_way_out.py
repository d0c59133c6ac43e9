"""A plan that finds nothing prints what would do; typed as printed it is met, and a hundredth less is not."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from pathlib import Path

import pytest

from optimiser.documents.plan import LooseningDocument, PlanDocument
from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import set_up
from optimiser.jobs.variant import Variant
from optimiser.jobs.varied import varied
from optimiser.model.answer import Status
from optimiser.search import solve
from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

pytestmark = pytest.mark.usefixtures("plans_once")

HEAD = """
rider = "../riders/ines.toml"
bike = "../bikes/oxlip_trail.toml"
shelf = "../shelf.csv"
"""

RESERVOIR = """
title = "Motocross shock: more in the middle, from the reservoir"
damper = "../dampers/morwen_shock.toml"
[work]
stack = "adjuster stack"
most_changes = 1
[[target]]
name = "middle"
stroke = "compression"
from_m_s = 0.2
to_m_s = 0.5
shift_percent = 12.0
tolerance_percent = 1.0
[[hold]]
name = "fast"
stroke = "compression"
from_m_s = 0.9
to_m_s = 1.6
tolerance_percent = 1.5
"""

SPIKES = """
title = "Fork: softer on edges"
damper = "../dampers/yaffle_fork.toml"
[work]
stack = "base compression stack"
most_changes = 1
[[target]]
name = "edges"
stroke = "compression"
from_m_s = 0.8
to_m_s = 1.6
shift_percent = -12.0
tolerance_percent = 2.0
[[hold]]
name = "braking"
stroke = "compression"
from_m_s = 0.05
to_m_s = 0.15
tolerance_percent = 2.0
"""

JOBS: Mapping[str, str | None] = {
    "g_too_coarse": None,
    "reservoir": RESERVOIR,
    "spikes": SPIKES,
}
"""A job of the stiff shop, and two that are written for these tests."""


@thorough_only("every loosening is planned again")
@pytest.mark.parametrize("name", list(JOBS))
def test_what_is_printed_is_met_as_typed_and_a_hundredth_less_is_not(
    name: str, shop: Path, typed: Typed
) -> None:
    job, text = shop / "jobs" / f"{name}.toml", JOBS[name]
    if text is not None:
        title, _, rest = text.partition("[work]")
        job.write_text(f"{title}{HEAD}[work]{rest}", encoding="utf-8")
    plan = PlanDocument.model_validate_json(
        typed("plan", f"jobs/{name}.toml", "--changes", "1", "--json").out
    )
    assert plan.outcome == "cannot be reached"
    assert plan.in_the_way
    assert plan.loosenings
    for one in plan.loosenings:
        assert one.typed.startswith(f"shimwright plan jobs/{name}.toml --")
        again = PlanDocument.model_validate_json(typed(*shlex.split(one.typed)[1:], "--json").out)
        assert again.candidates, one.typed
        assert again.candidates[0].number_of_changes <= one.changes
        if one.proven:
            setup = set_up(varied(read_job(job), _less(one)))
            bare = solve(setup.problem, most_changes=one.changes, find_nearest=False, wanted=1)
            assert bare.status is Status.PROVEN_IMPOSSIBLE, one.typed
    if name == "g_too_coarse":
        assert plan.one_more_change == f"shimwright plan jobs/{name}.toml --changes 2"
        again = PlanDocument.model_validate_json(typed(*shlex.split(plan.one_more_change)[1:], "--json").out)
        assert again.candidates[0].number_of_changes == 2


def _less(one: LooseningDocument) -> Variant:
    """Loosened by a hundredth less."""
    if one.kind != "ask":
        return Variant(tolerances={one.name: 0.99 * one.percent / 100})
    assert abs(one.percent * 1.01) < abs(one.present_percent)
    return Variant(shifts={one.name: 1.01 * one.percent / 100})


@thorough_only("plans twice; the study is tried by itself")
def test_another_stack_with_more_say_is_named_and_what_was_asked_otherwise_is_said(
    shop: Path, typed: Typed
) -> None:
    title, _, rest = RESERVOIR.partition("[work]")
    (shop / "jobs" / "reservoir.toml").write_text(f"{title}{HEAD}[work]{rest}", encoding="utf-8")
    said = typed("plan", "jobs/reservoir.toml", "--changes", "0").out
    assert "In the way of the nearest: 'fast' (held) misses by" in said
    assert "'compression stack' makes" in said
    assert 'shimwright plan jobs/reservoir.toml --changes 0 --stack "compression stack"' in said
    (line,) = (one.strip() for one in said.splitlines() if '--hold "fast=' in one)
    met = typed(*shlex.split(line)[1:])
    assert met.code == 0
    assert "'fast' is allowed" in met.out
    assert "instead of 1.5 %, by option." in met.out.replace("\n", " ")
    sheet = (shop / "jobs" / "reservoir.html").read_text(encoding="utf-8")
    assert "instead of 1.5 %, by option." in sheet


def test_options_that_ask_otherwise_are_for_one_job(shop: Path, typed: Typed) -> None:
    for words in (("--hold", "fast=4"), ("--ask", "low=5"), ("--changes", "1"), ("--stack", "base")):
        seen = typed("plan", "jobs", *words)
        assert seen.code == 2
        assert f"{words[0]}: got the folder jobs, expected one job" in seen.err


def test_a_job_that_carries_a_feel_over_has_no_bands_to_ask_otherwise(shop: Path, typed: Typed) -> None:
    seen = typed("plan", "jobs/f_another_frame.toml", "--hold", "low=4")
    assert seen.code == 2
    assert "--hold: got it for jobs/f_another_frame.toml, which carries a known feel over" in seen.err
