"""Ctrl-C at any moment of a long search, through the real command line: what stands is given, nothing is half written."""

import os
import random
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.helpers.counts import thorough_only, tries
from tests.helpers.stiff_shop import lay_out

SHIMWRIGHT = Path(sys.executable).with_name("shimwright")
MOMENTS = tries(quick=2, thorough=10)
EARLIEST, LATEST = 0.3, 8.0
"""From the middle of the imports to deep in the search. [s]"""

LONGEST = 60.0
"""Within this a search ends that was asked to, on a busy machine. [s]"""


@dataclass
class Ended:
    """What an interrupted command left behind."""

    code: int
    out: str
    err: str


def moments() -> list[float]:
    """The same in every run of the tests; denser early, where one stage follows another quickly. [s]"""
    dice = random.Random(19)
    return [EARLIEST * (LATEST / EARLIEST) ** dice.random() for _ in range(MOMENTS)]


def wait(process: subprocess.Popen[str], seconds: float) -> None:
    """Until the command has worked so long since it was up: since its first compiled library was loaded.

    Counted in the process's own time where the system tells it, so that a busy machine interrupts at the same places.
    """
    system = Path(f"/proc/{process.pid}")
    if not system.exists():
        time.sleep(2 + seconds)
        return
    while "site-packages" not in (system / "maps").read_text():
        assert process.poll() is None
        time.sleep(0.005)
    up = worked(system)
    while worked(system) < up + seconds:
        assert process.poll() is None, "the search ended by itself: a longer one is needed here"
        time.sleep(0.005)


def worked(system: Path) -> float:
    """Processor time of a process and of those that it has begun. [s]"""
    try:
        fields = (system / "stat").read_text().rpartition(")")[2].split()
        children = (system / "task" / system.name / "children").read_text().split()
    except FileNotFoundError:
        return 0.0  # one that has just ended: its time is counted with its parent's
    own = sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK")
    return own + sum(worked(system.parent / child) for child in children)


def interrupted_after(seconds: float, job: Path, folder: Path) -> Ended:
    folder.mkdir()
    command: list[str | Path] = [SHIMWRIGHT, "plan", job, "--sheet", folder / "sheet.html"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8", start_new_session=True
    ) as process:
        wait(process, seconds)
        os.killpg(process.pid, signal.SIGINT)  # as a terminal does: every process of the command gets it
        try:
            out, err = process.communicate(timeout=LONGEST)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
    with pytest.raises(ProcessLookupError):
        os.killpg(process.pid, 0)  # nothing that it began lives on
    return Ended(process.returncode, out, err)


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[float, Path, Ended]]:
    """Some at a time: whether one run bears a Ctrl-C has nothing to do with the others."""
    shop = tmp_path_factory.mktemp("interrupted")
    lay_out(shop)
    job = shop / "jobs" / "d_out_of_reach.toml"
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("most_changes = 2", "most_changes = 3"), encoding="utf-8")
    folders = [shop / f"run {number}" for number in range(MOMENTS)]
    with ThreadPoolExecutor(2) as side_by_side:
        ended = side_by_side.map(interrupted_after, moments(), [job] * MOMENTS, folders)
        return list(zip(moments(), folders, ended, strict=True))


@thorough_only("interrupts a command again and again; reach and a folder of jobs try it in a quick run")
def test_whenever_it_comes_the_code_is_that_of_an_interruption(runs: list[tuple[float, Path, Ended]]) -> None:
    assert [(f"{seconds:.2f} s", ended.code) for seconds, _, ended in runs if ended.code != 130] == []


def test_what_stands_is_printed_or_that_it_was_interrupted(runs: list[tuple[float, Path, Ended]]) -> None:
    for seconds, folder, ended in runs:
        if (folder / "sheet.html").exists():
            assert "Nearest; it does not reach the goal" in ended.out, f"after {seconds:.2f} s"
            assert "Build sheet:" in ended.out, f"after {seconds:.2f} s"
        else:
            assert (ended.out, ended.err) == ("", "Interrupted.\n"), f"after {seconds:.2f} s"


def test_an_interrupted_search_is_never_called_proof_that_it_cannot_be_done(
    runs: list[tuple[float, Path, Ended]],
) -> None:
    for seconds, folder, ended in runs:
        if (folder / "sheet.html").exists():
            assert "Not proven: the search was stopped by hand" in " ".join(ended.out.split()), (
                f"after {seconds:.2f} s"
            )


def test_no_traceback_reaches_the_terminal(runs: list[tuple[float, Path, Ended]]) -> None:
    assert [ended.err for _, _, ended in runs if ended.err not in {"", "Interrupted.\n"}] == []


def test_a_sheet_is_complete_or_absent_and_nothing_else_is_left(
    runs: list[tuple[float, Path, Ended]],
) -> None:
    for seconds, folder, _ in runs:
        left = list(folder.iterdir())
        assert left in ([], [folder / "sheet.html"]), f"after {seconds:.2f} s"
        for page in left:
            assert page.read_text(encoding="utf-8").rstrip().endswith("</html>"), f"after {seconds:.2f} s"


def test_some_moments_lie_deep_enough_in_the_search_for_something_to_stand(
    runs: list[tuple[float, Path, Ended]],
) -> None:
    assert any((folder / "sheet.html").exists() for _, folder, _ in runs)
