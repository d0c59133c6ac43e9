"""What long work says of itself."""

import pytest

from damping_model.stack import warm_up as kernel
from optimiser.cli import watching


class Line:
    """Stands for the line on stderr."""

    said: list[str]

    def __init__(self, what: str) -> None:
        Line.said = [what]

    def soon(self) -> None:
        pass

    def say(self, words: str) -> None:
        Line.said.append(words)

    def end(self) -> None:
        pass


@pytest.mark.parametrize("compiled", [False, True])
def test_the_first_run_in_an_installation_says_that_it_compiles(
    monkeypatch: pytest.MonkeyPatch, compiled: bool
) -> None:
    """And no other does."""
    monkeypatch.setattr(watching, "_Shown", Line)
    monkeypatch.setattr(kernel, "is_compiled", lambda: compiled)
    with watching.stoppable("Searching"):
        pass
    assert Line.said[0] == "Searching"
    assert any("compiling" in words for words in Line.said) is not compiled
