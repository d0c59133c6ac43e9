"""What can go wrong outside the physics, as types a caller can tell apart."""

from collections.abc import Sequence


class ShimwrightError(Exception):
    """The base of every error a user may see: one readable message, never a traceback."""


class InputError(ShimwrightError):
    """A file or an argument that cannot be used: names what was got, what was expected and the way out."""


class FaultError(ShimwrightError):
    """An answer that does not hold when it is judged again: a fault of the program, never printed.

    Parameters
    ----------
    what : whose answer it is.
    faults : what does not hold, in words; at least one.
    """

    def __init__(self, what: str, faults: Sequence[str]) -> None:
        super().__init__(
            f"{what}: the answer was judged again and does not hold: {'; '.join(faults)}. It is a fault of "
            "this program, not of your files, so no answer is shown and nothing is written. Report it with "
            "the files of the job; fewer changes (--changes) or a time limit (--time-limit) may lead to "
            "another answer."
        )
