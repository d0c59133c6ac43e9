"""Shims, stacks, and how far a stack lifts under pressure."""
