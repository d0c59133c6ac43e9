"""Thin plates that bend, stretch and touch: the compiled part of the model."""
