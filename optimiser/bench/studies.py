"""Studies of a job as the process in the background does them, and keeps what comes of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from optimiser.actions.reach_of_file import reach_of_file, reach_progress_words
from optimiser.actions.shop_of_file import shop_of_file
from optimiser.bench.study_folder import StudyAsked, StudyFolder
from optimiser.documents.reach import reach_document
from optimiser.documents.shop import shop_document
from optimiser.report.progress_words import progress_words
from optimiser.report.shop_text import said


def reach_study(
    folder: StudyFolder, asked: StudyAsked, *, tell: Callable[[str], None], should_stop: Callable[[], bool]
) -> None:
    """How far each band goes, as ``shimwright reach`` finds it.

    Parameters
    ----------
    folder : where it is kept.
    asked : what was asked.
    tell : hears how far it came.
    should_stop : whether somebody asked for its end.
    """
    found = reach_of_file(
        asked.job,
        most_changes=asked.most,
        time_limit=asked.seconds,
        progress=lambda now: tell(reach_progress_words(now)),
        should_stop=should_stop,
    )
    document = reach_document(found.setup, found.together, picture=None, each=found.each)
    folder.keep(document.model_dump_json(indent=1))


def purchase_study(
    folder: StudyFolder, asked: StudyAsked, *, tell: Callable[[str], None], should_stop: Callable[[], bool]
) -> None:
    """What to buy, as ``shimwright shop`` finds it.

    Parameters
    ----------
    folder, asked, tell, should_stop : as of :func:`reach_study`.
    """
    found = shop_of_file(
        asked.job,
        Path(asked.catalogue),
        most_types=asked.most,
        time_limit=asked.seconds,
        progress=lambda now: tell(progress_words(now)),
        should_stop=should_stop,
    )
    if isinstance(found, str):
        folder.fail(found)
        return
    words = said(found.found, sold=len(found.offers))
    document = shop_document(
        found.setup, found.found, offers=found.offers, said=words, open_stacks=found.open_stacks
    )
    folder.keep(document.model_dump_json(indent=1))
