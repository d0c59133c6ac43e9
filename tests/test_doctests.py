"""Examples in docstrings print what they say, to the digits that they show."""

from __future__ import annotations

import doctest
import importlib
import re
from pathlib import Path

import pytest

from tests.helpers.paths import ROOT

NUMBER = re.compile(r"[-+]?\d+\.\d*(?:e[-+]?\d+)?")
WITH_EXAMPLES = [
    path.relative_to(ROOT)
    for folder in ("damping_model", "optimiser")
    for path in sorted((ROOT / folder).rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]


class ShownDigits(doctest.OutputChecker):
    """Takes a number as the one shown when it rounds to it."""

    def check_output(self, want: str, got: str, optionflags: int) -> bool:
        shown = iter(NUMBER.findall(want))
        return super().check_output(
            want, NUMBER.sub(lambda one: rounded(one[0], next(shown, "")), got), optionflags
        )


def rounded(number: str, shown: str) -> str:
    """The number as it is shown, where it is no further from that than half of the last digit shown."""
    digits = re.fullmatch(r"[-+]?\d+\.(\d*)(?:e([-+]?\d+))?", shown)
    if digits is None:
        return number
    half = 0.5 * 10.0 ** (int(digits[2] or 0) - len(digits[1]))
    return shown if abs(float(number) - float(shown)) <= half * (1 + 1e-9) else number


@pytest.mark.parametrize("path", WITH_EXAMPLES, ids=str)
def test_the_examples_of_a_module_print_what_they_say(path: Path) -> None:
    module = importlib.import_module(".".join(path.with_suffix("").parts).removesuffix(".__init__"))
    runner = doctest.DocTestRunner(ShownDigits(), optionflags=doctest.ELLIPSIS)
    examples = [one for one in doctest.DocTestFinder(exclude_empty=True).find(module) if one.examples]
    assert examples
    report: list[str] = []
    failed = sum(runner.run(one, out=report.append).failed for one in examples)
    assert failed == 0, "".join(report)


@pytest.mark.parametrize(
    ("number", "shown", "same"),
    [("0.12345", "0.123", True), ("0.1236", "0.123", False), ("1234.5", "1.2e3", True), ("2.0", "", False)],
)
def test_a_number_counts_as_shown_only_when_it_rounds_to_it(number: str, shown: str, same: bool) -> None:
    assert (rounded(number, shown) == shown) == same
