"""At every call to the disk: an error, or the end of the process. What is said is held against what stands."""

import errno
import re
import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from optimiser.ledger.check import clear_abandoned, examine_shop
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.levels import shelf_levels
from optimiser.ledger.shelf_changes import receive
from tests.helpers.counts import tries
from tests.helpers.faulty_disk import JOB, KILL, FaultyDisk
from tests.helpers.ledger_shop import crashed, everything
from tests.helpers.paths import STIFF_SHOP
from tests.optimiser.cli.test_ledger_commands import SHELF, SHIMS

KILLS = tries(quick=19, thorough=300)
FAULTS = tries(quick=19, thorough=300)
"""Processes killed and errors injected, spread evenly over the commands and over the calls of each."""

ERRORS = {errno.ENOSPC: "no room", errno.EIO: "disk fault", errno.EACCES: "no right"}
TIMES = ("at", "opened_at", "erased_at", "applied_at", "digest")

pytestmark = pytest.mark.skipif(not FaultyDisk.is_possible(), reason="needs Linux and a C compiler")


@dataclass(frozen=True)
class Typed:
    """A command, and the shop that it is typed into; @ stands for the shop's folder."""

    shop: str
    words: str

    def in_folder(self, folder: Path) -> tuple[str, ...]:
        return (*self.words.replace("@", str(folder)).split(), "--shop", str(folder))


COMMANDS = {
    "first import": Typed("files alone", "stock import @/shelf.csv --write"),
    "import": Typed("shelf", "stock import @/more.csv --write"),
    "receive": Typed("shelf", "stock receive 20x0.15 3 --once mine"),
    "receive after a crash": Typed("crashed", "stock receive 20x0.15 3 --once mine"),
    "scrap": Typed("shelf", "stock scrap 20x0.15 2 --once mine"),
    "count": Typed("shelf", "stock count 20x0.15 2"),
    "undo": Typed("shelf", "undo --once mine"),
    "build": Typed("shelf", f"build @/{JOB}"),
    "build into a sheet that is there": Typed("shelf", f"build @/{JOB} --sheet @/old.html"),
    "done": Typed("reserved", "done a_more_support"),
    "release": Typed("reserved", "release a_more_support"),
    "outcome": Typed("built", "outcome a_more_support better --once mine"),
    "erase": Typed("built", "person erase Ines --yes --everywhere"),
    "backup": Typed("built", "backup @/copy"),
    "restore": Typed("built", "restore @/monday"),
    "restore after a crash": Typed("crashed", "restore @/monday"),
    "export of the shelf": Typed("built", "stock export --out @/out.csv"),
    "export of a rider": Typed("built", "person export Ines --out @/old.html"),
    "check": Typed("crashed", "check"),
}


@dataclass(frozen=True)
class Standing:
    """What a shop holds: every row of its books but for times, and its other files."""

    books: dict[str, list[tuple[object, ...]]] | None
    files: dict[str, bytes]


def standing(folder: Path) -> Standing:
    path = folder / FILE_NAME
    files = {
        str(found.relative_to(folder)): found.read_bytes()
        for found in folder.rglob("*")
        if found.is_file() and not found.name.startswith(FILE_NAME)
    }
    for copy in (*folder.glob(f"{FILE_NAME}.aside-*[0-9]"), *folder.glob("copy")):
        files[copy.name.split("-")[0]] = repr(everything(copy)).encode()
    books = everything(path, without=TIMES) if path.exists() else None
    return Standing(books, files)


@pytest.fixture(scope="module")
def disk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FaultyDisk]:
    process = FaultyDisk(tmp_path_factory.mktemp("disk"))
    yield process
    process.close()


@pytest.fixture(scope="module")
def shops(disk: FaultyDisk, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Shops at every stage of a job, each laid out from the one before."""
    base = tmp_path_factory.mktemp("shops").resolve()
    made = {name: base / name for name in ("files alone", "shelf", "reserved", "built", "crashed")}

    def grown(before: str, after: str, *commands: str) -> None:
        shutil.copytree(made[before], made[after])
        for words in commands:
            assert disk.type(made[after], *Typed(after, words).in_folder(made[after]))["code"] == 0

    first = made["files alone"]
    shutil.copytree(STIFF_SHOP, first)
    (first / "shelf.csv").write_text(SHELF)
    (first / "more.csv").write_text(SHELF.replace("20,0.15,8,6", "20,0.15,8,9").replace("A2", "B7"))
    (first / "old.html").write_text("<p>old</p>")
    damper = first / "dampers/tarn_shock.toml"
    damper.write_text(re.sub(r"shims = \[[^\]]*\]", SHIMS, damper.read_text(), count=1))
    grown(
        "files alone",
        "shelf",
        "stock import @/shelf.csv --write",
        "stock receive 20x0.10 1 --reason Ines",
        "backup @/monday",
    )
    grown("shelf", "reserved", f"build @/{JOB}")
    grown("reserved", "built", "done a_more_support", "outcome a_more_support worse")
    shutil.copytree(made["built"], base / "at work")
    with Ledger.open(base / "at work") as ledger:
        for level in shelf_levels(ledger):
            receive(ledger, level.key, 1, reason="in the log")
        crashed(base / "at work", made["crashed"])
    return made


@dataclass(frozen=True)
class Case:
    """A command, the shop before and after it, and how many calls it makes when nothing fails."""

    name: str
    shop: Path
    before: Standing
    after: Standing
    calls: int


@pytest.fixture(scope="module")
def cases(disk: FaultyDisk, shops: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> list[Case]:
    base, found = tmp_path_factory.mktemp("whole").resolve(), []
    for name, command in COMMANDS.items():
        folder = base / name.replace(" ", "_")
        shutil.copytree(shops[command.shop], folder)
        before = standing(folder)
        whole = disk.type(folder, *command.in_folder(folder))
        assert whole["code"] == 0, whole
        found.append(Case(name, shops[command.shop], before, standing(folder), whole["calls"]))
    return found


def spread(cases: list[Case], tries: int) -> Iterator[tuple[Case, int]]:
    """So many of all calls of all commands, evenly."""
    every = [(case, call) for case in cases for call in range(1, case.calls + 1)]
    return (every[number * len(every) // tries] for number in range(tries))


SAYS_UNCHANGED = re.compile(r"Nothing was changed|No backup was made|The ledger holds what it held")
SAYS_FILES_UNCHANGED = re.compile(r"what was there is as it was|No backup was made")
SAYS_DONE = re.compile(r"is reserved for|The person is erased")
SAYS_DAMAGED = re.compile(
    r"is damaged[^,]|the file's pages|holds something else|cannot be read any more|is empty"
)
SAYS_FILE_BEHIND = re.compile(r"is as it was, and the step stands: ")
MAY_LEAVE_THE_FILE = {"done", "undo"}
"""Commands that keep their step when the damper's file cannot be written, and say so with exit code 1."""

SAYS_UNSURE = "Whether the step was kept is not sure"


def false_sentences(case: Case, said: str, code: object, now: Standing) -> list[str]:
    """What was said that is not so, held against the books and the files."""
    wrong = []
    if "Traceback" in said or code not in {0, 1, 2}:
        wrong.append("ends in no sentence of its own")
    if code == 0 and now != case.after:
        wrong.append("ends well and is not done")
    if SAYS_DAMAGED.search(said) or (code == 1 and case.name == "check"):
        wrong.append("calls a whole ledger damaged")
    if code == 1 and case.name not in {"check", *MAY_LEAVE_THE_FILE}:
        wrong.append("finds a problem where none is looked for")
    if (
        code == 1
        and case.name in MAY_LEAVE_THE_FILE
        and not (SAYS_FILE_BEHIND.search(said) and now.books == case.after.books)
    ):
        wrong.append("ends with a problem and does not say that the step stands and the file is behind")
    if SAYS_UNCHANGED.search(said) and now.books != case.before.books:
        wrong.append("says that nothing was changed")
    if SAYS_FILES_UNCHANGED.search(said) and now.files != case.before.files:
        wrong.append("says that the files are as they were")
    if SAYS_DONE.search(said) and now.books != case.after.books:
        wrong.append("says that it is done")
    if SAYS_UNSURE in said and SAYS_UNCHANGED.search(said):
        wrong.append("says two things at once")
    return wrong


def is_whole(case: Case, now: Standing) -> list[str]:
    """What was lost or left half done: the books are as before or as after, and so is every file."""
    lost = []
    if now.books not in (case.before.books, case.after.books):
        lost.append("the books hold a part of the step")
    for name in now.files.keys() | case.before.files.keys() | case.after.files.keys():
        if now.files.get(name) not in (case.before.files.get(name), case.after.files.get(name)):
            lost += [f"{name} is neither as before nor as after"]
    return lost


def looked_at(folder: Path) -> Standing:
    """Check the books, where nothing is found, and clear what is left, and say what stands."""
    if (folder / FILE_NAME).exists():
        assert examine_shop(folder) == ()
    clear_abandoned(folder)
    assert not list(folder.rglob("*.part*"))
    return standing(folder)


def test_an_error_at_any_call_loses_nothing_and_what_is_said_is_so(
    disk: FaultyDisk, cases: list[Case], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    seen, wrong = Counter[str](), []
    for number, (case, call) in enumerate(spread(cases, FAULTS)):
        folder = tmp_path.resolve() / str(number)
        shutil.copytree(case.shop, folder)
        error = list(ERRORS)[number % len(ERRORS)]
        lasting = number % 2 == 1
        told = disk.type(
            folder, *COMMANDS[case.name].in_folder(folder), at=call, error=error, lasting=lasting
        )
        now = looked_at(folder)
        found = is_whole(case, now) + false_sentences(case, told["said"], told["code"], now)
        if found:
            wrong.append(
                (
                    case.name,
                    call,
                    ERRORS[error],
                    "and after" if lasting else "once",
                    found,
                    told["said"][-300:],
                )
            )
        done = "after" if now.books == case.after.books else "before"
        seen[f"exit {told['code']}, books as {done}"] += 1
        shutil.rmtree(folder)
    with capsys.disabled():
        print(f"\nerrors at calls to the disk: {FAULTS}, {dict(seen)}, lost or falsely said: {len(wrong)}")  # noqa: T201
    assert wrong == []


def test_a_kill_at_any_call_loses_nothing_and_the_command_given_again_does_it_once(
    disk: FaultyDisk, cases: list[Case], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    seen, wrong = Counter[str](), []
    for number, (case, call) in enumerate(spread(cases, KILLS)):
        folder = tmp_path.resolve() / str(number)
        shutil.copytree(case.shop, folder)
        words = COMMANDS[case.name].in_folder(folder)
        assert disk.type(folder, *words, at=call, error=KILL) == {"killed": True}
        now = looked_at(folder)
        seen["kept" if now.books == case.after.books else "not kept"] += 1
        found = is_whole(case, now)
        disk.type(folder, *words)
        again = looked_at(folder)
        if again.books != case.after.books:
            found.append("given again, it is not done once")
        if found:
            wrong.append((case.name, call, found))
        shutil.rmtree(folder)
    with capsys.disabled():
        print(f"\nkills at calls to the disk: {KILLS}, {dict(seen)}, lost or done twice: {len(wrong)}")  # noqa: T201
    assert wrong == []
