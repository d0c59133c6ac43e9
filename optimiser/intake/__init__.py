"""From what a rider says to a place on the force curve, and whether a revalve is called for at all."""
