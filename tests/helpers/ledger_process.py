"""A long-lived process at a bench: told over its standard input what to do, it answers with one JSON line each.

``race``: reserve a shim for a job. ``start``: open a ledger that may be new. ``kill``: do an operation in a child process and kill that child.
"""

import json
import os
import shutil
import signal
import sys
import time
from pathlib import Path

from optimiser.files.shelf import read_shelf
from optimiser.ledger.backup import backup
from optimiser.ledger.builds import done, release, reserve
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import NotEnoughShimsError
from optimiser.ledger.shelf_changes import import_shelf
from optimiser.model.stock import ShimKey
from tests.helpers.ledger_shop import A, B, D, new_job, new_shop_of_old, planned, reserved_job, shelf_of
from tests.helpers.paths import STIFF_SHOP

SHELF = STIFF_SHOP / "shelf.csv"


def race(folder: str, bench: int, shim: tuple[int, int, int]) -> dict[str, object]:
    """Open the ledger as a command does and reserve the last shim of a type."""
    key = ShimKey(*shim)
    try:
        with Ledger.open(Path(folder)) as ledger:
            numbers = new_job(ledger, f"bench {bench} wants {key}")
            reserve(ledger, planned(numbers, taken={key: 1}))
    except NotEnoughShimsError as lost:
        return {"won": False, "told": list(lost.shortages[0].held_by)}
    except Exception as error:
        return {"error": repr(error)}
    return {"won": True}


def start(folder: str) -> dict[str, object]:
    """Open a ledger that may not be there yet."""
    try:
        with Ledger.open(Path(folder), create=True) as ledger:
            return {"started": examine(ledger) == ()}
    except Exception as error:
        return {"error": repr(error)}


def prepare(operation: str, folder: Path) -> None:
    """Make the shop in which an operation will be killed."""
    if operation == "migration":
        shelf = read_shelf(SHELF)
        new_shop_of_old(folder, 1, {row.key: row.count for row in shelf.rows})
        return
    if operation == "first import":
        return
    with Ledger.open(folder, create=True) as ledger:
        import_shelf(ledger, shelf_of({A: 9, B: 9}), reason="first count")
        if operation in {"done", "release"}:
            reserved_job(ledger, "ines", taken={A: 3, B: 2}, returned={D: 2})
        else:
            new_job(ledger, "ines")


def perform(operation: str, folder: Path) -> None:
    """Do it, from opening the file on, as a command does."""
    with Ledger.open(folder, create=True) as ledger:
        if operation in {"import", "first import"}:
            import_shelf(ledger, read_shelf(SHELF), reason="shelf.csv")
        elif operation == "build":
            reserve(ledger, planned(new_job(ledger, "ines"), taken={A: 3, B: 2}, returned={D: 2}))
        elif operation == "done":
            done(ledger, "ines", scrapped={D: 1})
        elif operation == "release":
            release(ledger, "ines")
        elif operation == "backup":
            backup(ledger, folder / "copy.ledger")


def kill(operation: str, template: str, folder: str, delay: float) -> dict[str, object]:
    """Do an operation in a child and kill it after a delay [s]; a negative delay lets it live."""
    shutil.copytree(template, folder)
    ready, go = os.pipe()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            os.write(go, b".")
            perform(operation, Path(folder))
            status = 0
        finally:
            os._exit(status)
    os.read(ready, 1)
    start = time.perf_counter()
    if delay >= 0:
        end = start + delay
        while time.perf_counter() < end:
            time.sleep(0)
        os.kill(child, signal.SIGKILL)
    status = os.waitpid(child, 0)[1]
    os.close(ready)
    os.close(go)
    return {"killed": os.WIFSIGNALED(status), "status": status, "took": time.perf_counter() - start}


def main() -> None:
    """Answer until there is nothing left to read."""
    for line in sys.stdin:
        order = json.loads(line)
        answer: dict[str, object] = {}
        if "race" in order:
            answer = race(*order["race"])
        elif "start" in order:
            answer = start(order["start"])
        elif "prepare" in order:
            folder = Path(order["prepare"][1])
            folder.mkdir(parents=True)
            prepare(order["prepare"][0], folder)
        else:
            answer = kill(*order["kill"])
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
