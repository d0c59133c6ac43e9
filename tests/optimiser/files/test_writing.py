"""Files appear whole, with the rights that the user means, and what a killed run leaves is found."""

import os
import stat
import subprocess
import sys
import textwrap
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.parts import abandoned_parts, part_of, put_new
from optimiser.files.writing import Draft, write_whole
from tests.helpers.paths import ROOT


@pytest.fixture(params=[0o022, 0o077], ids=["022", "077"])
def mask(request: pytest.FixtureRequest) -> Iterator[int]:
    before = os.umask(request.param)
    yield request.param
    os.umask(before)


def rights(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_a_new_file_has_the_rights_that_the_mask_leaves(tmp_path: Path, mask: int) -> None:
    write_whole(tmp_path / "sheet.html", "new")
    assert rights(tmp_path / "sheet.html") == 0o666 & ~mask


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o666])
def test_a_file_that_is_written_over_keeps_its_rights(tmp_path: Path, mode: int) -> None:
    (tmp_path / "ines.json").write_text("old")
    (tmp_path / "ines.json").chmod(mode)
    write_whole(tmp_path / "ines.json", "new")
    assert rights(tmp_path / "ines.json") == mode
    assert (tmp_path / "ines.json").read_text() == "new"


def test_a_link_is_written_through_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "real.html").write_text("old")
    (tmp_path / "sheet.html").symlink_to(tmp_path / "elsewhere" / "real.html")
    write_whole(tmp_path / "sheet.html", "new")
    assert (tmp_path / "sheet.html").is_symlink()
    assert (tmp_path / "elsewhere" / "real.html").read_text() == "new"
    assert [path.name for path in (tmp_path / "elsewhere").iterdir()] == ["real.html"]


def test_what_is_no_file_is_refused_and_left(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for place, says in (
        (tmp_path / "pipe", "got a device or a pipe, expected the name of a file"),
        (Path("/dev/null"), "got a device or a pipe"),
        (tmp_path, "got a folder, expected the name of a file"),
        (tmp_path / "loop", "cannot be written"),
        (tmp_path / "no" / "sheet.html", r"cannot be written \(No such file or directory\)"),
        (tmp_path / ("n" * 300), "cannot be written"),
    ):
        with pytest.raises(InputError, match=says):
            write_whole(place, "new")
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["loop", "pipe"]


def test_a_draft_shows_nothing_until_it_is_put_and_leaves_nothing_when_it_is_not(tmp_path: Path) -> None:
    (tmp_path / "sheet.html").write_text("old")
    with Draft(tmp_path / "sheet.html") as draft:
        draft.fill("new")
        assert (tmp_path / "sheet.html").read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.html"]
    assert (tmp_path / "sheet.html").read_text() == "old"


def test_of_two_that_want_one_name_one_gets_it_whole(tmp_path: Path) -> None:
    won: list[int] = []
    barrier = threading.Barrier(8)

    def want(number: int) -> None:
        part = part_of(tmp_path / "copy")
        part.write_text(str(number) * 9)
        barrier.wait()
        try:
            put_new(part, tmp_path / "copy")
        except FileExistsError:
            part.unlink()
        else:
            won.append(number)

    threads = [threading.Thread(target=want, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(won) == 1
    assert (tmp_path / "copy").read_text() == str(won[0]) * 9
    assert [path.name for path in tmp_path.iterdir()] == ["copy"]


def test_a_disk_without_links_still_never_writes_over_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object, **__: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    for number, taken in ((1, False), (2, True)):
        part = part_of(tmp_path / "copy")
        part.write_text(str(number))
        if taken:
            with pytest.raises(FileExistsError):
                put_new(part, tmp_path / "copy")
        else:
            put_new(part, tmp_path / "copy")
    assert (tmp_path / "copy").read_text() == "1"


def test_parts_of_a_killed_run_are_found_and_those_of_a_running_one_are_not(tmp_path: Path) -> None:
    begin = textwrap.dedent(
        """
        import sys, time
        from pathlib import Path
        from optimiser.files.writing import Draft
        with Draft(Path(sys.argv[1])) as draft:
            draft.fill("half")
            print("begun", flush=True)
            time.sleep(60)
        """
    )
    (tmp_path / "jobs").mkdir()
    with subprocess.Popen(
        [sys.executable, "-c", begin, str(tmp_path / "jobs" / "sheet.html")],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    ) as run:
        assert run.stdout is not None
        assert run.stdout.readline() == "begun\n"
        parts = list((tmp_path / "jobs").iterdir())
        assert len(parts) == 1
        assert abandoned_parts(tmp_path) == ()
        run.kill()
        run.wait()
    assert abandoned_parts(tmp_path) == tuple(parts)


def test_files_that_only_look_alike_are_nobodys_parts(tmp_path: Path) -> None:
    for name in (
        ".hidden",
        ".notes.part",
        "copy.part",
        ".a.12345678-99.part",
        ".b.12345678-0001-1234abcd.part",
    ):
        (tmp_path / name).write_text("mine")
    assert abandoned_parts(tmp_path) == ()
