"""A fit of a damper in the background, kept until somebody decides whether plans use it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path
from typing import ClassVar, Final

from optimiser.actions.fit_damper import FittedRuns, fit_files
from optimiser.bench.dyno_wishes import said_of, settled_of
from optimiser.bench.work_folder import WorkFolder, WorkKind
from optimiser.documents.fit import fit_document
from optimiser.documents.fit_kept import FitKeptDocument, KeptLine
from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.damper_builder import read_typed_damper
from optimiser.files.fit_file import fit_text
from optimiser.files.writing import write_whole
from optimiser.fit.posterior import StoppedError
from optimiser.intake.brackets import adjusters_of
from optimiser.report.fit_text import told_words, verdict_words, words_against
from optimiser.report.measured_points import measured_points
from optimiser.report.sheet import CurveLine
from optimiser.report.unit_system import UnitSystem

STAGED: Final = "fit.toml"
"""What would lie beside the damper's file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FitAsked:
    """What was asked of a fit.

    Parameters
    ----------
    damper : path of its file.
    files : paths of its runs.
    wishes : what a person says before what is derived, by the field of the form.
    seen : what the damper's file held.
    """

    damper: Path
    files: tuple[Path, ...]
    wishes: Mapping[str, str] = field(default_factory=dict)
    seen: str = ""


class FitFolder(WorkFolder):
    """The files of one damper's latest fit.

    Parameters
    ----------
    shop : the shop's folder.
    damper : the damper's name.
    """

    RESULT: ClassVar[str] = "fit.json"

    def __init__(self, shop: Path, damper: str) -> None:
        super().__init__(shop, WorkKind.FIT, damper)

    def begin(self, asked: FitAsked) -> None:
        """Write down what is asked, in place of the fit before."""
        plain = {**asdict(asked), "damper": str(asked.damper), "files": [str(one) for one in asked.files]}
        self.write_down(plain, form="shimwright fit asked 1")

    def asked(self) -> FitAsked:
        """What was asked.

        Raises
        ------
        InputError
            When the file is none of this program's.
        """
        return self.as_asked(
            lambda found: FitAsked(
                damper=Path(found["damper"]),
                files=tuple(Path(one) for one in found["files"]),
                wishes={str(name): str(text) for name, text in found["wishes"].items()},
                seen=str(found["seen"]),
            )
        )

    def keep(self, document: FitKeptDocument, *, staged: str) -> None:
        """Keep what came of it."""
        write_whole(self.path / STAGED, staged)
        write_whole(self.path / self.RESULT, document.model_dump_json(indent=1) + "\n")

    def result(self) -> FitKeptDocument:
        """What came of it.

        Raises
        ------
        InputError
            When there is nothing, or it cannot be read.
        """
        place = self.path / self.RESULT
        try:
            return FitKeptDocument.model_validate_json(read_text(place, what="fit"))
        except ValueError:
            raise InputError(f"{place}: cannot be read. Fit again; that writes it anew.") from None

    def staged(self) -> str:
        """What would lie beside the damper's file."""
        return read_text(self.path / STAGED, what="fit")


def fit_study(
    folder: FitFolder, asked: FitAsked, *, tell: Callable[[str], None], should_stop: Callable[[], bool]
) -> None:
    """Fit a damper as ``shimwright fit`` does, and keep what comes of it.

    Parameters
    ----------
    folder : where it is kept.
    asked : what was asked.
    tell : hears how far it came.
    should_stop : whether somebody asked for its end; nothing is kept then.
    """
    adjusters = adjusters_of(read_typed_damper(asked.damper).damper)
    try:
        found = fit_files(
            asked.damper,
            asked.files,
            said=said_of(asked.wishes, adjusters),
            settled=settled_of(asked.wishes),
            say=tell,
            should_stop=should_stop,
        )
    except StoppedError:
        return
    against = words_against(found.fit.verdict, UnitSystem.METRIC)
    staged = fit_text(
        asked.damper,
        found.fit,
        runs=found.used(asked.files),
        day=date.today().isoformat(),
        against=against,
    )
    folder.keep(_kept(found, against), staged=staged)


def _kept(found: FittedRuns, against: str) -> FitKeptDocument:
    fit = found.fit
    written, fitted = found.lines()
    return FitKeptDocument(
        fit=fit_document(fit, against=against, advice=None, written=None, picture=None),
        verdict={units.value: list(verdict_words(fit.verdict, fit.missed, units)) for units in UnitSystem},
        told=list(told_words(fit)),
        notes=list(found.session.notes),
        lines=[_line(one) for one in (written, *fitted)],
        measured=[_line(one) for one in measured_points([each.run for each in fit.sample.stretches])],
    )


def _line(line: CurveLine) -> KeptLine:
    return KeptLine(
        name=line.name,
        velocities_m_s=[round(one, 5) for one in line.velocities],
        forces_n=[round(one, 3) for one in line.forces],
        promised_to_m_s=line.promised_to,
    )
