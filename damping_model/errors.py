"""What can go wrong in the physics, as types a caller can tell apart."""


class ModelError(Exception):
    """The base of every error that the damping model raises on purpose."""


class GeometryError(ModelError):
    """Parts that cannot be bolted together, or dimensions that contradict one another."""


class ConvergenceError(ModelError):
    """The equations were well posed, yet no solution was found within the iterations allowed."""
