"""The tests mirror the packages; what several of them need is in ``tests/helpers``."""
