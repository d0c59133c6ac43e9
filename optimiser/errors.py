"""What can go wrong outside the physics, as types a caller can tell apart."""


class ShimwrightError(Exception):
    """The base of every error a user may see: one readable message, never a traceback."""


class InputError(ShimwrightError):
    """A file or an argument that cannot be used: names what was got, what was expected and the way out."""
