"""Every input is read by one reader: a bounded number of bytes in a bounded time."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files import reading
from optimiser.files.base import read_text, read_toml
from optimiser.files.catalogue import read_catalogue
from optimiser.files.job_reader import read_job
from optimiser.files.job_writer import read_answers
from optimiser.files.rider_file import RiderFile
from optimiser.files.shelf import read_shelf
from tests.helpers.command_line import Typed

READERS: dict[str, Callable[[Path], object]] = {
    "rider": lambda path: read_toml(path, RiderFile, what="rider"),
    "shelf": read_shelf,
    "catalogue": read_catalogue,
    "job": read_job,
    "answers": read_answers,
    "plan": lambda path: read_text(path, what="plan"),
}


@pytest.mark.parametrize("kind", READERS)
def test_a_device_is_refused_by_every_reader(kind: str) -> None:
    with pytest.raises(InputError, match=r"/dev/zero: got a device, expected an? "):
        READERS[kind](Path("/dev/zero"))


@pytest.mark.parametrize("kind", READERS)
def test_a_pipe_that_nobody_writes_to_is_given_up(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "PATIENCE", 0.1)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match=r"pipe: got no end of it within 0.1 seconds, expected an? "):
        READERS[kind](tmp_path / "pipe")


@pytest.mark.parametrize("kind", READERS)
def test_a_file_of_a_terabyte_is_refused_unread(kind: str, tmp_path: Path) -> None:
    with (tmp_path / "huge").open("wb") as file:
        file.truncate(10**12)
    with pytest.raises(InputError, match=r"huge: got more than 5 MB, expected an? "):
        READERS[kind](tmp_path / "huge")


def test_a_pipe_that_never_ends_is_cut_off_at_the_cap(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")

    def pour() -> None:
        with (tmp_path / "pipe").open("wb", buffering=0) as pipe:
            try:
                while True:
                    pipe.write(b"x" * 65536)
            except BrokenPipeError:
                pass

    writer = threading.Thread(target=pour)
    writer.start()
    with pytest.raises(InputError, match=r"got more than 5 MB"):
        read_text(tmp_path / "pipe", what="rider")
    writer.join(10)
    assert not writer.is_alive()


def test_a_pipe_that_pauses_but_never_ends_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "PATIENCE", 0.3)
    os.mkfifo(tmp_path / "pipe")
    ends = os.open(tmp_path / "pipe", os.O_RDWR)
    os.write(ends, b'name = "Ines"\n')
    try:
        with pytest.raises(InputError, match=r"got no end of it within 0\.3 seconds"):
            read_text(tmp_path / "pipe", what="rider")
    finally:
        os.close(ends)


def test_a_pipe_that_ends_is_read_like_a_file(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    text = 'name = "Ines"\nmass_kg = 60\n' + "#" * 200_000

    def write() -> None:
        (tmp_path / "pipe").write_text(text, encoding="utf-8")

    writer = threading.Thread(target=write)
    writer.start()
    assert read_text(tmp_path / "pipe", what="rider") == text
    writer.join(10)


@pytest.mark.parametrize("word", ["/dev/zero", "huge", "nowhere.json"])
def test_verify_reads_by_the_same_reader(
    word: str, typed: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with (tmp_path / "huge").open("wb") as file:
        file.truncate(10**12)
    seen = typed("verify", word)
    assert seen.code == 2
    assert "expected a reference file" in seen.err


@pytest.mark.parametrize(
    "words", [("plan", "{}"), ("curve", "{}"), ("stock", "import", "{}"), ("leverage", "{}")]
)
def test_no_command_hangs_on_a_device(words: tuple[str, ...], typed: Typed) -> None:
    seen = typed(*(word.format("/dev/zero") for word in words))
    assert seen.code == 2
    assert "/dev/zero: got a device" in seen.err
