"""Dyno runs after a build laid over those before it, and over what was promised; the record of it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError
from optimiser.files.dyno.reader import SaidOfFiles, read_session
from optimiser.files.fit_file import sha256_of
from optimiser.files.job_reader import read_job
from optimiser.jobs.before_after import BeforeAfter, BuiltStack, before_after
from optimiser.ledger.build_rows import Build
from optimiser.ledger.builds import last_done
from optimiser.ledger.connection import Ledger
from optimiser.ledger.measured_builds import record_measurement
from optimiser.ledger.part_states import part_words
from optimiser.ledger.promises import promise_of, stacks_before
from optimiser.model.edits import stack_of


def build_to_measure(ledger: Ledger, name: str) -> Build:
    """The build of a job that is done.

    Raises
    ------
    InputError
        When none is.
    """
    build = last_done(ledger, name)
    if build is None:
        raise InputError(
            f"job {name!r}: no build of it is done, expected one to measure. When it is built: shimwright "
            f"done {name}."
        )
    return build


def measure_build(
    ledger: Ledger,
    path: Path,
    build: Build,
    *,
    runs: Sequence[Path],
    earlier: Sequence[Path],
    machine: str | None = None,
) -> BeforeAfter:
    """Lay runs after a build over runs before it, and their change over the promise; nothing is written down.

    Parameters
    ----------
    ledger : the shop's ledger.
    path : the job's file.
    build : that is done.
    runs, earlier : files after and before it.
    machine : whose columns they have; None to recognise one.

    Raises
    ------
    InputError
        When the files cannot be used, or no run is at the setting of the build.
    ModelError
        When the damper cannot be computed.
    """
    job = read_job(path)
    if build.swaps.parts:
        swapped = " and ".join(part_words(one.kind, one.name) for one in build.swaps.parts)
        raise InputError(
            f"{build.job}: got a build that swapped {swapped} too, expected one of shims alone: the record "
            "is of how far the model is wrong about shims. Nothing was written."
        )
    described = job.damper
    for stack, before_it in stacks_before(ledger, build).items():
        described = described.with_stack(stack, stack_of(before_it))
    said, damper = SaidOfFiles(machine=machine), job.damper.damper

    def read(files: Sequence[Path]) -> tuple[DynoRun, ...]:
        return read_session(files, said=said, damper=damper).runs if files else ()

    after, before = read(runs), read(earlier)
    promise = promise_of(ledger, build)
    stands = {clicker.name: clicker.position for clicker in damper.clickers}
    return before_after(
        BuiltStack(
            damper=described,
            stack_name=build.stack_name,
            new=stack_of(build.stack),
            others=tuple((stack, stack_of(shims)) for stack, shims in build.others.items()),
            clicks_before=stands,
            clicks_after={one.name: promise.clicks.get(one.name, one.position) for one in damper.clickers},
        ),
        promise.bands,
        before=before,
        after=after,
        known=job.knowledge,
    )


def write_down_measured(ledger: Ledger, build: Build, found: BeforeAfter, files: Sequence[Path]) -> None:
    """Put what was measured into the record, in place of what stood there of this build.

    Parameters
    ----------
    ledger : the shop's ledger.
    build : that was measured.
    found : with runs of both sides.
    files : of the runs.
    """
    fingerprint = hashlib.sha256("".join(map(sha256_of, files)).encode()).hexdigest()
    record_measurement(ledger, build.number, found.bands, runs=fingerprint)


def forget_measured(ledger: Ledger, build: Build) -> None:
    """Take what was measured of a build out of the record."""
    record_measurement(ledger, build.number, (), runs="")
