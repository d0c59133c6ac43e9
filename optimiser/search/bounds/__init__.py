"""Lower and upper bounds of a family of stacks, and the tests that prune it."""
