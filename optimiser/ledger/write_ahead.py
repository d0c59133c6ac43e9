"""The ledger's file and the log beside it, in which SQLite keeps steps until they are folded in."""

from __future__ import annotations

from pathlib import Path


def identity(path: Path) -> tuple[int, int]:
    """What tells one file from another that has its name later."""
    found = path.stat()
    return found.st_dev, found.st_ino


def log_of(path: Path) -> Path:
    """The write-ahead log beside a ledger; SQLite keeps it where the file really lies."""
    real = path.resolve()
    return real.with_name(f"{real.name}-wal")


def has_log(path: Path) -> bool:
    """Whether steps stand in the log that may not be in the file yet."""
    log = log_of(path)
    return log.exists() and log.stat().st_size > 0
