"""The search for the fewest shims to change, and the shop around it."""
