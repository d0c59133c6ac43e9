"""The fewest changes over all open stacks of a damper at once.

Where stacks share no flow, each adds its own change to the force. So what one change of each does is worked
out once, and the sums are gone through; more changes of one stack are searched in its own tree, whose bounds
are held against what the other stacks add.
"""

from optimiser.several.least_work import LeastWork, solve_least_work
from optimiser.several.solve_whole import solve_whole

__all__ = ["LeastWork", "solve_least_work", "solve_whole"]
