"""Going back in the guided questions: nothing that was said is lost, and what no longer fits is asked again."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.files.base import read_toml
from optimiser.files.job_file import JobFile
from tests.helpers.paths import STIFF_SHOP

FILES = (
    "Trail bike: wallows",
    "../riders/ines.toml",
    "../bikes/oxlip_trail.toml",
    "../dampers/tarn_shock.toml",
    "../shelf.csv",
)
"""Answers to the questions up to those about sag and tyres, of which each wheel has four."""

TO_THE_SYMPTOM = ("", "", "", "", "", "")
"""Sag to leaks at the rear, hours and words."""

TO_THE_STACK = ("", "", "", "")
"""Velocities, stroke, percent, most that any force may move."""

Typed = Callable[..., str]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shutil.copytree(STIFF_SHOP, tmp_path / "shop", ignore=shutil.ignore_patterns("*.py*"))
    return tmp_path / "shop"


@pytest.fixture
def typed(shop: Path, monkeypatch: pytest.MonkeyPatch) -> Typed:
    """Types lines one after another into the command, and gives what it printed."""

    def _typed(*lines: str) -> str:
        monkeypatch.chdir(shop)
        return CliRunner().invoke(cli, ["intake", "jobs/new.toml"], input="\n".join(lines) + "\n").output

    return _typed


def job_of(shop: Path) -> JobFile:
    return read_toml(shop / "jobs" / "new.toml", JobFile, what="job")


def in_order(output: str, *parts: str) -> None:
    """Each part occurs behind the one before it."""
    place = 0
    for part in parts:
        place = output.find(part, place)
        assert place >= 0, f"{part!r} not in, or not in its place in:\n{output}"
        place += len(part)


def test_back_goes_as_far_as_is_wanted_and_loses_nothing(typed: Typed, shop: Path) -> None:
    output = typed(
        *FILES, "1 1/4 in", "23 psi", "no",
        "back", "back", "back called", "",  # from leaks to play, to the tyre, to the title, which stays
        "back sag front", "32 mm", "back nothing of the sort", "n",
        *TO_THE_SYMPTOM, "wallows in long turns", *TO_THE_STACK, "1", "3",
    )  # fmt: skip
    in_order(
        output,
        "Back. It was: no (Enter keeps it)",
        "Back. It was: 1.59 (Enter keeps it)",
        "Back. It was: Trail bike: wallows (Enter keeps it)",
        "Leaks, front?",
        "Back. It was: 31.75 mm (Enter keeps it)",
        "No question before has 'nothing of the sort' in it.",
        "Wrote jobs/new.toml",
    )
    (front,) = job_of(shop).basics.corner
    assert (front.sag_mm, front.tyre_pressure_bar, front.free_play, front.leaks) == (32, 1.59, False, False)


def test_velocities_are_needed_only_where_no_symptom_was_named(typed: Typed) -> None:
    output = typed(
        *FILES,
        "",
        "",
        "",
        "",
        *TO_THE_SYMPTOM,
        "skip",
        "skip",
        "back",
        "wallows in long turns",
        "skip",
        "skip",
    )
    in_order(
        output,
        "Which of these is it?",
        "Shaft velocities in numbers",
        "A job cannot do without this.",
        "Shaft velocities in numbers",
        "Which of these is it?",
        "Shaft velocities in numbers",
        "Which stroke?",
        "By how many percent?",
    )
    assert output.count("A job cannot do without this.") == 1


def test_a_rider_may_begin_with_the_word_back(typed: Typed) -> None:
    output = typed(*FILES, "", "", "", "", *TO_THE_SYMPTOM[:-1], "Back end kicks up off a lip", "back")
    in_order(
        output, "(heard: kicks up off a lip)", "Back. It was: Back end kicks up off a lip (Enter keeps it)"
    )


def test_another_damper_keeps_all_answers_but_the_stack_that_it_does_not_have(
    typed: Typed, shop: Path
) -> None:
    output = typed(
        *FILES, "30 mm", "", "", "", *TO_THE_SYMPTOM, "wallows in long turns", *TO_THE_STACK, "compression stack",
        "back which damper", "../dampers/yaffle_fork.toml", "yes", "base compression stack", "",
    )  # fmt: skip
    in_order(
        output,
        "Back. It was: ../dampers/tarn_shock.toml",
        "felt at the rear; the damper of this job sits at the front. Go on all the same?",
        "Asked again: got 'compression stack', expected one of base compression stack",
        "Which stack may change?",
        "Wrote jobs/new.toml",
    )
    assert job_of(shop).basics.corner[0].sag_mm == 30
    assert job_of(shop).work.stack == "base compression stack"
