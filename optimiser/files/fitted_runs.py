"""The dyno runs that a damper's fit was made from, to be drawn beside its curves."""

from __future__ import annotations

from pathlib import Path

from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError
from optimiser.files.dyno.reader import read_session
from optimiser.model.damper_description import DamperDescription


def fitted_runs(described: DamperDescription) -> tuple[DynoRun, ...]:
    """Runs of the files that a fit names; none without a fit, or once its files are gone or changed.

    A drawing is no place to refuse a file: what is wrong with it is said where the fit is told.

    Parameters
    ----------
    described : a damper with its fit.
    """
    if described.fitted is None or not described.fitted.run_files:
        return ()
    try:
        return read_session([Path(file) for file in described.fitted.run_files], damper=described.damper).runs
    except InputError:
        return ()
