"""What a plan says beside the answer: a stack that is too coarse for the goal."""

import json

import pytest

JOB = "jobs/g_too_coarse.toml"


def test_a_delivered_stack_of_seven_shims_is_called_too_coarse_with_the_figures(shop, typed):
    seen = typed("plan", JOB, "--json")
    assert seen.code == 3
    document = json.loads(seen.out)
    assert document["status"] == "proven impossible"
    (advice,) = document["advice"]
    assert advice.startswith("The stack of 7 shims is too coarse for this goal: one change moves 'support' by +35.6%")
    assert advice.split(":")[0] in (shop / "jobs/g_too_coarse.html").read_text(encoding="utf-8")
    near = document["nearest"]["bands"][0]["change_percent"]
    assert sum(near) / len(near) == pytest.approx(35.6, abs=0.05)


@pytest.mark.usefixtures("shop")
def test_people_read_the_same_advice_before_the_tables(typed):
    out = typed("plan", JOB).out
    assert out.index("too coarse for this goal") < out.index("Nearest; it does not reach the goal")


def test_a_wider_tolerance_needs_no_such_advice(shop, typed):
    job = shop / JOB
    job.write_text(job.read_text(encoding="utf-8").replace("tolerance_percent = 3.0", "tolerance_percent = 6.0"))
    document = json.loads(typed("plan", JOB, "--json").out)
    assert document["outcome"] == "shims"
    assert document["advice"] == []
