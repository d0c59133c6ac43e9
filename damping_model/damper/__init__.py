"""Chambers joined by valves: force against velocity, in both strokes."""
