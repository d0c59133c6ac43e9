"""The screen: members of open families, ruled out by a surrogate whose error is measured in the search."""
