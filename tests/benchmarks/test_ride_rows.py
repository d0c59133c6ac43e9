"""The event behind every symptom, on every damper that it fits, says what the words and the first step say."""

from __future__ import annotations

from pathlib import Path

from optimiser.files.symptoms_file import read_vocabulary
from tests.benchmarks.words.fleet import jobs
from tests.benchmarks.words.ridden import shifted_row
from tests.helpers.counts import thorough_only


@thorough_only("rides ninety events twice; the page about rides has the rows")
def test_nine_of_ten_events_move_the_right_way_and_most_windows_meet_the_words(tmp_path: Path) -> None:
    rows = [shifted_row(damper, symptom, folder=tmp_path) for damper, symptom in jobs(read_vocabulary())]
    assert len(rows) == 90
    assert sum(row.right is True for row in rows) >= 81
    assert sum(row.overlaps for row in rows) >= 79
