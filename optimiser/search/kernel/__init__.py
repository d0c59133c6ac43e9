"""The compiled part of the search, on plain arrays."""
