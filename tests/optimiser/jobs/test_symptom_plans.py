"""Every row of the symptom table, written as a job, is planned: the right band of the right stroke, the right way."""

from pathlib import Path

import numpy as np
import pytest

from optimiser.files.job_reader import read_job
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.complaint import Symptom
from optimiser.jobs.plan import plan_job
from tests.helpers.counts import some_of
from tests.helpers.stiff_shop import lay_out

SITES = {
    "front": ("yaffle_fork", {"compression": "base compression stack", "rebound": "rebound stack"}),
    "rear": ("tarn_shock", {"compression": "compression stack", "rebound": "rebound stack"}),
}
ROWS = [
    pytest.param(row, end, id=f"{row.name}, {end}")
    for row in read_vocabulary().symptoms
    for end in SITES
    if row.end in {"either", end}
]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("symptoms") / "shop"
    lay_out(folder)
    return folder


@pytest.mark.usefixtures("without_draws")
@pytest.mark.parametrize(("row", "end"), some_of(ROWS, every=20))
def test_the_plan_of_a_symptom_moves_what_was_complained_of(row: Symptom, end: str, shop: Path) -> None:
    damper, stacks = SITES[end]
    job = shop / "jobs" / "symptom.toml"
    job.write_text(
        f"""title = "as the rider says"
rider = "../riders/ines.toml"
bike = "../bikes/oxlip_trail.toml"
damper = "../dampers/{damper}.toml"
shelf = "../shelf.csv"
[complaint]
symptom = "{row.name}"
corner = "{end}"
[work]
stack = "{stacks[row.stroke]}"
most_changes = 1
candidates = 1
""",
        encoding="utf-8",
    )
    planned = plan_job(read_job(job))
    assert planned.asked is not None
    assert planned.shown is not None
    target = planned.asked.goal.windows[0]
    assert (target.velocities[0] > 0) == (row.stroke == "compression")
    moved = np.array(planned.shown.forces[: len(target.velocities)]) / np.array(target.before) - 1
    assert np.sign(row.shift) * moved.mean() > abs(row.shift) / 3
