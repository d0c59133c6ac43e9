"""Other ways to find the fewest changes, beside our own: same questions, same physics, same clock."""
