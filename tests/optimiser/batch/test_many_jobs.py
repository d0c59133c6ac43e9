"""Many jobs side by side, through the real command line: on the cores of this machine, and on a Dask cluster of two workers."""

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import distributed
import psutil
import pytest

from optimiser.cli.plans_command import exit_code
from optimiser.documents.plan import PlanDocument
from optimiser.documents.plans import PlansDocument
from optimiser.jobs.job_answer import JobAnswer
from tests.helpers.command_line import Typed
from tests.helpers.counts import some_of, thorough_only, tries
from tests.helpers.stiff_shop import lay_out

SHIMWRIGHT = Path(sys.executable).with_name("shimwright")
DASK = Path(sys.executable).with_name("dask")
LONGEST = 240.0
"""No run here takes longer, on a machine that is busy with other things. [s]"""

BAD = "z_not_a_job"


def shop_with(folder: Path, *jobs: str) -> Path:
    """A stiff shop with these of its jobs, of at most one change, and one file that is none."""
    lay_out(folder)
    for job in (folder / "jobs").glob("*.toml"):
        text = job.read_text(encoding="utf-8")
        job.write_text(text.replace("most_changes = 2", "most_changes = 1"), encoding="utf-8")
        if job.stem not in jobs:
            job.unlink()
    (folder / "jobs" / f"{BAD}.toml").write_text("title = 3\n", encoding="utf-8")
    return folder


def endless(shop: Path, *names: str) -> None:
    """Jobs whose search goes on for minutes."""
    template = shop / "jobs" / "d_out_of_reach.toml"
    text = template.read_text(encoding="utf-8").replace("most_changes = 1", "most_changes = 3")
    template.unlink()
    for name in names:
        (shop / "jobs" / f"{name}.toml").write_text(text, encoding="utf-8")


@contextlib.contextmanager
def started(shop: Path, *words: int | str) -> Iterator[subprocess.Popen[str]]:
    """``shimwright`` at work, in a process group of its own as in a terminal."""
    with subprocess.Popen(
        [SHIMWRIGHT, *map(str, words)], cwd=shop, encoding="utf-8", start_new_session=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        try:
            yield process
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)


def ran(shop: Path, *words: int | str) -> tuple[int, str, str]:
    with started(shop, *words) as process:
        out, err = process.communicate(timeout=LONGEST)
    return process.returncode, out, err


def until(true: Callable[[], Any], what: str) -> Any:
    """Wait for what another process does."""
    ends = time.monotonic() + LONGEST
    while not (seen := true()):
        assert time.monotonic() < ends, f"waited in vain until {what}"
        time.sleep(0.05)
    return seen


def planning(process: subprocess.Popen[str]) -> list[psutil.Process]:
    """The processes that plan for a command, once each has worked for a second."""
    workers = [
        child for child in psutil.Process(process.pid).children() if "spawn_main" in " ".join(child.cmdline())
    ]
    return [worker for worker in workers if worker.cpu_times().user > 1]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, int, str, str]]:
    """The same jobs on two cores, and in a thorough run on one before."""
    jobs = ("a_more_support", "b_clicks_do", "c_sag_first")
    cores = {
        n: shop_with(tmp_path_factory.mktemp("cores"), *jobs) for n in range(tries(quick=2, thorough=1), 3)
    }
    return [(shop, *ran(shop, "plan", "jobs", "--json", "--cores", n)) for n, shop in cores.items()]


@thorough_only("plans every job once more")
def test_one_core_and_two_give_the_same_answers_byte_for_byte(planned: Any) -> None:
    (one, code_one, out_one, _), (two, code_two, out_two, _) = planned
    assert (code_one, out_one) == (code_two, out_two)
    written = sorted(path.name for path in (one / "jobs").iterdir())
    assert written == sorted(path.name for path in (two / "jobs").iterdir())
    for name in written:
        assert (one / "jobs" / name).read_bytes() == (two / "jobs" / name).read_bytes(), name


@thorough_only("plans every job; a quick run kills and stops such runs")
def test_every_job_of_the_folder_is_answered_and_a_bad_file_is_named_with_its_fault(planned: Any) -> None:
    _, code, out, err = planned[-1]
    document = PlansDocument.model_validate_json(out)
    assert err == ""
    assert [(job.job, job.outcome, job.number_of_changes, job.proven) for job in document.jobs] == [
        ("jobs/a_more_support.toml", "shims", 1, True),
        ("jobs/b_clicks_do.toml", "clicks", 0, True),
        ("jobs/c_sag_first.toml", "basics first", None, None),
        (f"jobs/{BAD}.toml", "input cannot be used", None, None),
    ]
    assert "title: got 3; expected: text in quotes" in document.jobs[3].said
    assert code == 2


@thorough_only("plans every job")
def test_a_job_among_others_gets_the_answer_and_the_sheet_that_it_gets_alone(
    planned: Any, tmp_path: Path
) -> None:
    shop, _, out, _ = planned[-1]
    alone = shop_with(tmp_path / "alone", "b_clicks_do")
    code, said, _ = ran(alone, "plan", "jobs/b_clicks_do.toml", "--json")
    assert code == 0
    entry = PlansDocument.model_validate_json(out).jobs[1]
    assert entry.plan is not None
    assert entry.sheet is not None
    assert (shop / entry.plan).read_text(encoding="utf-8") == said
    assert PlanDocument.model_validate_json(said).sheet == entry.sheet
    assert (shop / entry.sheet).read_bytes() == (alone / entry.sheet).read_bytes()


@thorough_only("several jobs are planned again")
def test_people_get_a_line_for_each_job_and_the_messages_below(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", "c_sag_first")
    code, out, _ = ran(shop, "plan", "jobs", "--cores", 1)
    assert code == 2
    assert "basics first" in out
    assert "jobs/c_sag_first.toml: Basics first: Set the spring" in out
    assert f"jobs/{BAD}.toml:1: title: got 3" in out
    (shop / "jobs" / f"{BAD}.toml").unlink()
    assert ran(shop, "plan", "jobs")[0] == 4


@pytest.mark.parametrize(
    ("outcomes", "code"),
    [
        (("clicks", "shims"), 0),
        (("shims", "basics first"), 4),
        (("basics first", "cannot be reached"), 3),
        (("nothing found", "shims"), 3),
        (("cannot be reached", "broken off"), 1),
        (("broken off", "input cannot be used", "shims"), 2),
        (("input cannot be used", "not planned"), 130),
    ],
)
def test_the_exit_code_is_that_of_the_outcome_that_counts_most(outcomes: tuple[Any, ...], code: int) -> None:
    assert exit_code(JobAnswer(job="a", title="a", outcome=one, said="") for one in outcomes) == code


@thorough_only("several jobs are planned again")
def test_each_job_is_planned_with_what_the_ledger_has_free(planned: Any, tmp_path: Path) -> None:
    before = json.loads((planned[-1][0] / "jobs" / "a_more_support.json").read_text(encoding="utf-8"))
    (wanted,) = before["candidates"][0]["changes"]["put_in"]
    shop = shop_with(tmp_path / "shop", "a_more_support")
    size = f"{wanted['outer_diameter_mm']:g}x{wanted['thickness_mm']:.2f}"
    assert ran(shop, "stock", "import", "shelf.csv", "--write")[0] == 0
    assert ran(shop, "stock", "count", size, "0", "--hole", wanted["inner_diameter_mm"])[0] == 0
    assert ran(shop, "plan", "jobs")[0] == 2
    after = json.loads((shop / "jobs" / "a_more_support.json").read_text(encoding="utf-8"))
    assert after["candidates"]
    for candidate in after["candidates"]:
        assert wanted not in candidate["changes"]["put_in"]


@thorough_only("several processes begin anew")
def test_ctrl_c_keeps_what_is_finished_and_stops_the_rest_at_what_stands(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", "b_clicks_do", "d_out_of_reach")
    endless(shop, "d_long", "e_long", "f_long", "g_long", "h_long")
    with started(shop, "plan", "jobs", "--json", "--cores", 2, "--time-limit", 0) as process:
        until((shop / "jobs" / "b_clicks_do.json").exists, "the short job was answered")
        until(lambda: len(planning(process)) == 2, "two more were searched")
        workers = planning(process)
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=LONGEST)
    assert (process.returncode, err) == (130, "")
    jobs = PlansDocument.model_validate_json(out).jobs
    assert jobs[0].outcome == "clicks"
    assert jobs[0].sheet is not None
    assert (shop / jobs[0].sheet).read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert {job.status for job in jobs[1:-1]} == {"interrupted"}
    assert jobs[-2].outcome == "not planned"
    searched = [job for job in jobs[1:-1] if job.outcome == "nothing found"]
    assert searched
    for job in searched:
        assert job.sheet is not None
        assert (shop / job.sheet).read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert not any(path.name.startswith(".") for path in (shop / "jobs").iterdir())
    assert not any(worker.is_running() for worker in workers)


@thorough_only("several processes begin anew")
def test_a_process_that_dies_takes_no_job_with_it(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", "a_more_support", "b_clicks_do")
    with started(shop, "plan", "jobs", "--json", "--cores", 2) as process:
        until(lambda: planning(process), "a job was searched")[0].kill()
        out, err = process.communicate(timeout=LONGEST)
    assert err == ""
    assert [job.outcome for job in PlansDocument.model_validate_json(out).jobs] == [
        "shims", "clicks", "input cannot be used",
    ]  # fmt: skip


@thorough_only("starts searches to kill them; a process that dies is tried in a quick run")
def test_no_search_runs_on_when_the_command_is_killed(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", "d_out_of_reach")
    endless(shop, "d_long", "e_long")
    with started(shop, "plan", "jobs", "--cores", 2) as process:
        workers = until(lambda: planning(process), "a job was searched")
        process.kill()
        process.wait()
        until(lambda: not any(worker.is_running() for worker in workers), "the searches ended")


@pytest.mark.parametrize(
    ("words", "said"),
    some_of(
        [
            (["plan", "jobs", "--sheet", "one.html"], "--sheet: got the folder jobs, expected one job"),
            (["plan", "jobs", "--pick", "2"], "--pick: got the folder jobs"),
            (["plan", "jobs", "--override", "because"], "--override: got the folder jobs"),
            (["plan", "jobs/c_sag_first.toml", "--cores", "2"], "--cores: got the single job"),
            (["plan", "jobs/c_sag_first.toml", "--cluster", "tcp://a:1"], "--cluster: got the single job"),
            (["plan", "jobs", "--cores", "2", "--cluster", "tcp://a:1"], "--cores: got it beside --cluster"),
            (["plan", "jobs", "--cluster", "bench"], "--cluster: got 'bench', expected the address"),
            (["plan", "empty"], "got a folder without job files"),
        ],
        every=3,
    ),
)
def test_what_cannot_be_done_is_refused_in_a_sentence(
    words: Any, said: str, tmp_path: Path, typed: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = shop_with(tmp_path / "shop", "c_sag_first")
    (shop / "empty").mkdir()
    monkeypatch.chdir(shop)
    seen = typed(*words)
    assert (seen.code, seen.out) == (2, "")
    assert said in seen.err
    assert "Traceback" not in seen.err


@thorough_only("a client of a cluster begins")
def test_a_cluster_that_does_not_answer_is_said_by_its_address(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", "c_sag_first")
    code, out, err = ran(shop, "plan", "jobs", "--cluster", "tcp://127.0.0.1:9")
    assert (code, out) == (2, "")
    assert "nothing answers at tcp://127.0.0.1:9" in err
    assert "Traceback" not in err


def test_without_the_extra_the_message_says_what_to_install(tmp_path: Path) -> None:
    shop = shop_with(tmp_path / "shop", "c_sag_first")
    without = "import sys; sys.modules['distributed'] = None; from optimiser.cli import main; main()"
    seen = subprocess.run(
        [sys.executable, "-c", without, "plan", "jobs", "--cluster", "tcp://127.0.0.1:9"],
        cwd=shop, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert seen.returncode == 2
    assert "pip install 'shimwright[cluster]'" in seen.stderr


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[Any, dict[str, subprocess.Popen[bytes]]]]:
    """A scheduler and two workers of one thread each, by the ordinary commands; workers by their addresses."""
    place = tmp_path / "scheduler.json"
    home = {**os.environ, "DASK_TEMPORARY_DIRECTORY": str(tmp_path)}
    common = ["--scheduler-file", str(place), "--no-dashboard"]
    commands = [["scheduler", "--host", "127.0.0.1", "--port", "0", *common]]
    commands += [["worker", *common, "--nthreads", "1", "--no-nanny"]] * 2
    processes = []
    with (tmp_path / "dask.log").open("w") as log, contextlib.ExitStack() as stack:
        for command in commands:
            processes.append(
                subprocess.Popen([DASK, *command], stdout=log, stderr=log, cwd=tmp_path, env=home)
            )
            stack.callback(processes[-1].wait)
            stack.callback(processes[-1].kill)
        until(place.exists, "the scheduler was up")
        client = stack.enter_context(
            distributed.Client(  # type: ignore[no-untyped-call]  # ships types for half of itself
                scheduler_file=str(place), timeout=LONGEST, set_as_default=False
            )
        )
        client.wait_for_workers(2, timeout=LONGEST)
        of = {process.pid: process for process in processes}
        yield client, {address: of[pid] for address, pid in client.run(os.getpid).items()}


def searching(client: Any) -> dict[str, int]:
    """For each worker that is in the middle of a search, the number of its job."""
    return {
        address: int(key.rsplit("-", 1)[1])
        for address, tasks in client.call_stack(keys=_keys(client)).items()
        for key, frames in tasks.items()
        if any("in plan_job" in frame for frame in frames)
    }


def _keys(client: Any) -> list[str]:
    return [key for keys in client.processing().values() for key in keys]


@thorough_only("a process that dies on this machine is tried in a quick run, too")
@pytest.mark.filterwarnings("default")
def test_a_worker_killed_in_the_middle_of_a_run_leaves_no_job_unanswered(
    cluster: Any, tmp_path: Path
) -> None:
    client, workers = cluster
    shop = shop_with(tmp_path / "shop", "a_more_support", "b_clicks_do", "c_sag_first")
    shutil.copy(shop / "jobs" / "a_more_support.toml", shop / "jobs" / "a_second.toml")
    names = sorted((shop / "jobs").glob("*.toml"))
    with started(shop, "plan", "jobs", "--json", "--cluster", client.scheduler.address) as process:
        address, number = next(iter(until(lambda: searching(client), "a job was searched").items()))
        workers[address].send_signal(signal.SIGKILL)
        assert workers[address].wait() == -signal.SIGKILL
        assert process.poll() is None
        assert not names[number].with_suffix(".json").exists(), "the job was answered before the kill"
        out, err = process.communicate(timeout=LONGEST)
    assert (process.returncode, err) == (2, "")
    assert [(job.job, job.outcome) for job in PlansDocument.model_validate_json(out).jobs] == [
        (str(names[0]), "shims"), (str(names[1]), "shims"), (str(names[2]), "clicks"),
        (str(names[3]), "basics first"), (str(names[4]), "input cannot be used"),
    ]  # fmt: skip
    assert names[number].with_suffix(".json").exists()
    assert names[number].with_suffix(".html").read_text(encoding="utf-8").rstrip().endswith("</html>")


@thorough_only("a cluster of its own begins")
@pytest.mark.filterwarnings("default")
def test_ctrl_c_reaches_the_searches_on_other_machines(cluster: Any, tmp_path: Path) -> None:
    client, _ = cluster
    shop = shop_with(tmp_path / "shop", "d_out_of_reach")
    endless(shop, "d_long", "e_long", "f_long")
    with started(shop, "plan", "jobs", "--json", "--cluster", client.scheduler.address) as process:
        until(lambda: len(searching(client)) == 2, "both workers searched")
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=LONGEST)
    assert (process.returncode, err) == (130, "")
    jobs = PlansDocument.model_validate_json(out).jobs
    assert [(job.outcome, job.status) for job in jobs[:2]] == [("nothing found", "interrupted")] * 2
    assert jobs[2].outcome == "not planned"
    until(lambda: not _keys(client), "the workers were free again")
