"""What the same search answers besides a plan: reach, resolution, what to buy, delivered dampers."""
