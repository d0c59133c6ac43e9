"""What a thorough run leaves out after a quick one, and in which order tests are handed out."""

import pytest

from tests.helpers.beyond_quick import names_of
from tests.helpers.longest_first import APART, LONGEST, unit_of
from tests.helpers.paths import ROOT

MODULE = """
import pytest
import hypothesis.strategies as st
from hypothesis import given
from tests.helpers import counts
from tests.helpers.counts import some_of, thorough_only, tries

MANY = tries(quick=1, thorough=9)
SOME: list[int] = some_of([1, 2, 3], every=2)
LONG = thorough_only("long")
FEW = 3

@pytest.fixture(scope="module")
def made(): return [MANY]

@pytest.fixture
def plain(): return FEW

@pytest.fixture
def through(made): return made

def helper(): return counts.tries(quick=1, thorough=2)

def test_by_a_constant(): assert MANY
@pytest.mark.parametrize("one", SOME)
def test_by_its_parameters(one): assert one
def test_by_a_fixture(through): assert through
def test_by_a_helper(): assert helper()
@given(st.integers())
def test_by_examples(one): assert one == one
@LONG
def test_marked(): assert FEW
def test_plain(plain): assert plain

class TestMany:
    def test_inside(self): assert helper()
"""


@pytest.mark.parametrize("how", ["a_constant", "its_parameters", "a_fixture", "a_helper", "examples"])
def test_what_depends_on_counts_however_indirectly_is_run_again(how: str) -> None:
    known, counted = names_of(MODULE)
    assert f"test_by_{how}" in counted & known


def test_a_class_of_tests_is_run_again_whole() -> None:
    assert "TestMany" in names_of(MODULE)[1]


def test_what_a_quick_run_has_tried_whole_is_left_out() -> None:
    known, counted = names_of(MODULE)
    assert {
        "test_plain",
        "test_marked",
        "plain",
    } <= known - counted  # the mark of one shows on the test itself


def test_what_takes_longest_is_there() -> None:
    assert len(set(LONGEST)) == len(LONGEST)
    assert set(LONGEST) >= APART
    assert [file for file in LONGEST if not (ROOT / file).is_file()] == []


def test_tests_that_share_nothing_may_go_to_different_workers() -> None:
    alone = sorted(APART)[0]
    assert unit_of(f"{alone}::test_one[a::b]") == f"{alone}::test_one[a::b]"
    assert unit_of("tests/test_docs.py::TestOne::test_two") == "tests/test_docs.py"
