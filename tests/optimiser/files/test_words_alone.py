"""Words of a rider are not interpreted: a job that has nothing else is answered with what to write beside them."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from damping_model.errors import GeometryError
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from tests.helpers.paths import ROOT


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job of the demo that has words and nothing else."""
    shop = tmp_path / "shop"
    shutil.copytree(ROOT / "inventory_demo", shop)
    path = shop / "jobs" / "words.toml"
    head = (shop / "jobs" / "a_more_support.toml").read_text(encoding="utf-8").partition("[complaint]")[0]
    path.write_text(f"{head}[complaint]\nwords = 'It is harsh on square edges.'\n", encoding="utf-8")
    return path


def test_symptoms_that_are_heard_in_the_words_are_named(job: Path) -> None:
    with pytest.raises(
        InputError, match=re.escape('Heard in these words: symptom = "spikes on square edges".')
    ):
        read_job(job)


def test_where_none_is_heard_all_are_named(job: Path) -> None:
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("It is harsh on square edges.", "Hm."), encoding="utf-8")
    with pytest.raises(InputError, match=r'Known: symptom = ".+", symptom = ".+"'):
        read_job(job)


def test_what_is_heard_is_answered_once_it_is_written_down(job: Path) -> None:
    with job.open("a", encoding="utf-8") as file:
        file.write('symptom = "spikes on square edges"\n')
    assert read_job(job).asked.complaint.symptom == "spikes on square edges"


def test_a_damper_whose_spaces_do_not_join_up_is_named_with_its_file(job: Path) -> None:
    damper = job.parents[1] / "dampers" / "tarn_shock.toml"
    text = damper.read_text(encoding="utf-8").partition('[[valve]]\nname = "base valve"')[0]
    damper.write_text(text, encoding="utf-8")
    with pytest.raises(GeometryError, match=r"tarn_shock\.toml: damper .*no valve joins"):
        read_job(job)
