"""A stack is written the way a tuner reads it aloud."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.files.stack_text import lines_from_shims, shims_from_lines
from optimiser.model.stock import ShimKey


def test_a_count_and_a_ring_are_read_from_the_piston_outwards() -> None:
    shims = shims_from_lines(["2 of 20x0.10", "18x0.30 hole 15", "14 X .2"], hole_mm=8)
    assert shims == (
        ShimKey(20_000, 100, 8_000),
        ShimKey(20_000, 100, 8_000),
        ShimKey(18_000, 300, 15_000),
        ShimKey(14_000, 200, 8_000),
    )


@given(
    st.lists(
        st.builds(
            ShimKey, st.integers(9_000, 60_000), st.integers(30, 1_000), st.sampled_from([8_000, 8_500])
        ),
        min_size=1,
        max_size=30,
    )
)
def test_what_is_written_is_read_back_equal(shims: list[ShimKey]) -> None:
    lines = lines_from_shims(shims, hole=8_000)
    assert list(shims_from_lines(lines, hole_mm=8)) == shims


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ([], "at least one shim; a stack without shims closes no port. List them from the piston outwards"),
        (["20x15"], "a thickness from 0.03 to 1 mm, got 15 in '20x15'; did you mean 0.15?"),
        (["200x0.1"], "a diameter from 5 to 60 mm, got 200 in '200x0.1'"),
        (["2.5 of 20x0.1"], "a whole number of shims from 1 to 200, got '2.5' in '2.5 of 20x0.1'"),
        (["-1 of 20x0.1"], "a whole number of shims from 1 to 200, got '-1' in '-1 of 20x0.1'"),
        (["20xnan"], "a shim like '24x0.20' or '3 of 24x0.20' (mm), got '20xnan'"),
        (["twenty by point one"], "a shim like '24x0.20' or '3 of 24x0.20' (mm), got 'twenty by point one'"),
        (["7x0.1"], "a hole smaller than the rim, got '7x0.1' with a hole of 8 mm"),
    ],
)
def test_a_line_that_cannot_be_a_shim_is_refused_with_what_was_expected(
    lines: list[str], message: str
) -> None:
    with pytest.raises(ValueError, match=r".") as refusal:
        shims_from_lines(lines, hole_mm=8)
    assert str(refusal.value) == message
