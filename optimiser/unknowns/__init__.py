"""Figures of a damper that nobody knows exactly, and the damper with them drawn again."""
