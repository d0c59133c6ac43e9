"""The ledger's tables, as migrations that are only ever added to.

Stock is nowhere a number: it is the sum of a type's movements. ``shelf`` counts what lies in the shop,
``reserved`` the part of it that is reserved for a job; what is free is their difference. The triggers hold
what must never break, whoever writes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimiser.ledger.schema_of_parts import SEVERAL_STACKS

APPLICATION_ID: Final = 0x5348494D
"""Marks the SQLite file as a ledger of shims; kept in the file's header."""


@dataclass(frozen=True, slots=True)
class Migration:
    """One step from an older ledger to a newer one.

    Parameters
    ----------
    number : its place in the order, from 1.
    name : what it does; recorded in the file.
    statements : SQL, run in one transaction together with the row that records it and the new seal.
    """

    number: int
    name: str
    statements: tuple[str, ...]


_SHOP_BOOKS: Final = (
    """
    CREATE TABLE shim_type (
        id INTEGER PRIMARY KEY,
        outer_um INTEGER NOT NULL CHECK (outer_um BETWEEN 5000 AND 60000),
        thickness_um INTEGER NOT NULL CHECK (thickness_um BETWEEN 30 AND 1000),
        inner_um INTEGER NOT NULL CHECK (inner_um BETWEEN 3000 AND 30000),
        CHECK (inner_um < outer_um),
        UNIQUE (outer_um, thickness_um, inner_um)
    ) STRICT
    """,
    """
    CREATE TABLE person (
        id INTEGER PRIMARY KEY,
        name TEXT UNIQUE CHECK (length(name) > 0),
        mass_kg REAL CHECK (mass_kg > 0),
        words TEXT NOT NULL DEFAULT '',
        erased_at TEXT,
        CHECK ((name IS NULL) = (erased_at IS NOT NULL))
    ) STRICT
    """,
    """
    CREATE TABLE machine (
        id INTEGER PRIMARY KEY,
        person_id INTEGER NOT NULL REFERENCES person,
        name TEXT NOT NULL CHECK (length(name) > 0),
        UNIQUE (person_id, name)
    ) STRICT
    """,
    """
    CREATE TABLE damper (
        id INTEGER PRIMARY KEY,
        machine_id INTEGER NOT NULL REFERENCES machine,
        name TEXT NOT NULL CHECK (length(name) > 0),
        UNIQUE (machine_id, name)
    ) STRICT
    """,
    """
    CREATE TABLE job (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE CHECK (length(name) > 0),
        title TEXT NOT NULL,
        words TEXT NOT NULL DEFAULT '',
        damper_id INTEGER NOT NULL REFERENCES damper,
        opened_at TEXT NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE plan (
        id INTEGER PRIMARY KEY,
        job_id INTEGER NOT NULL REFERENCES job,
        at TEXT NOT NULL,
        document TEXT NOT NULL CHECK (json_valid(document))
    ) STRICT
    """,
    """
    CREATE TABLE build (
        id INTEGER PRIMARY KEY,
        plan_id INTEGER NOT NULL REFERENCES plan,
        job_id INTEGER NOT NULL REFERENCES job,
        damper_id INTEGER NOT NULL REFERENCES damper,
        pick INTEGER NOT NULL CHECK (pick >= 1),
        stack_name TEXT NOT NULL CHECK (length(stack_name) > 0),
        stack TEXT NOT NULL CHECK (json_valid(stack)),
        state TEXT NOT NULL CHECK (state IN ('reserved', 'done', 'released', 'undone'))
    ) STRICT
    """,
    "CREATE UNIQUE INDEX one_open_build_per_job ON build (job_id) WHERE state = 'reserved'",
    "CREATE UNIQUE INDEX one_open_build_per_stack ON build (damper_id, stack_name) WHERE state = 'reserved'",
    "CREATE INDEX build_of_job ON build (job_id)",
    """
    CREATE TABLE build_line (
        build_id INTEGER NOT NULL REFERENCES build,
        shim_id INTEGER NOT NULL REFERENCES shim_type,
        way TEXT NOT NULL CHECK (way IN ('take', 'give')),
        count INTEGER NOT NULL CHECK (count > 0),
        PRIMARY KEY (build_id, shim_id, way)
    ) STRICT, WITHOUT ROWID
    """,
    """
    CREATE TABLE operation (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        at TEXT NOT NULL,
        kind TEXT NOT NULL CHECK (
            kind IN ('import', 'receive', 'count', 'scrap', 'build', 'done', 'release', 'undo')
        ),
        reason TEXT NOT NULL CHECK (length(reason) > 0),
        job_id INTEGER REFERENCES job,
        build_id INTEGER REFERENCES build,
        undoes INTEGER UNIQUE REFERENCES operation,
        CHECK ((kind = 'undo') = (undoes IS NOT NULL)),
        CHECK (kind NOT IN ('build', 'done', 'release') OR build_id IS NOT NULL),
        CHECK (build_id IS NULL OR job_id IS NOT NULL)
    ) STRICT
    """,
    "CREATE INDEX operation_of_build ON operation (build_id) WHERE build_id IS NOT NULL",
    """
    CREATE TABLE movement (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        operation_id INTEGER NOT NULL REFERENCES operation,
        shim_id INTEGER NOT NULL REFERENCES shim_type,
        kind TEXT NOT NULL,
        shelf INTEGER NOT NULL,
        reserved INTEGER NOT NULL,
        CHECK (
            CASE kind
                WHEN 'received' THEN shelf > 0 AND reserved = 0
                WHEN 'counted' THEN shelf <> 0 AND reserved = 0
                WHEN 'reserved' THEN shelf = 0 AND reserved > 0
                WHEN 'released' THEN shelf = 0 AND reserved < 0
                WHEN 'used' THEN shelf < 0 AND reserved = shelf
                WHEN 'returned' THEN shelf > 0 AND reserved = 0
                WHEN 'scrapped' THEN shelf < 0 AND reserved = 0
                WHEN 'undone' THEN shelf <> 0 OR reserved <> 0
                ELSE 0
            END
        )
    ) STRICT
    """,
    "CREATE INDEX movement_sums ON movement (shim_id, shelf, reserved)",
    "CREATE INDEX movement_of_operation ON movement (operation_id)",
    """
    CREATE TABLE shelf_note (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        operation_id INTEGER NOT NULL REFERENCES operation,
        shim_id INTEGER NOT NULL REFERENCES shim_type,
        listed INTEGER NOT NULL CHECK (listed IN (0, 1)),
        drawer TEXT NOT NULL DEFAULT '',
        label TEXT NOT NULL DEFAULT '',
        low_at INTEGER CHECK (low_at >= 0)
    ) STRICT
    """,
    "CREATE INDEX shelf_note_latest ON shelf_note (shim_id, id)",
    "CREATE INDEX shelf_note_of_operation ON shelf_note (operation_id)",
    """
    CREATE TABLE damper_state (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        damper_id INTEGER NOT NULL REFERENCES damper,
        stack_name TEXT NOT NULL CHECK (length(stack_name) > 0),
        at TEXT NOT NULL,
        origin TEXT NOT NULL CHECK (origin IN ('as found', 'built', 'put back')),
        operation_id INTEGER REFERENCES operation,
        stack TEXT NOT NULL CHECK (json_valid(stack)),
        CHECK ((origin = 'as found') = (operation_id IS NULL))
    ) STRICT
    """,
    "CREATE INDEX damper_state_latest ON damper_state (damper_id, stack_name, id)",
    """
    CREATE TRIGGER stock_never_negative AFTER INSERT ON movement
    WHEN (
        SELECT sum(reserved) < 0 OR sum(shelf) < sum(reserved) FROM movement WHERE shim_id = new.shim_id
    )
    BEGIN SELECT RAISE(ABORT, 'stock would be negative'); END
    """,
    """
    CREATE TRIGGER movement_stays BEFORE UPDATE ON movement
    BEGIN SELECT RAISE(ABORT, 'a movement is never edited; undo it'); END
    """,
    """
    CREATE TRIGGER movement_remains BEFORE DELETE ON movement
    BEGIN SELECT RAISE(ABORT, 'a movement is never deleted; undo it'); END
    """,
    """
    CREATE TRIGGER operation_stays BEFORE UPDATE OF id, at, kind, job_id, build_id, undoes ON operation
    BEGIN SELECT RAISE(ABORT, 'an operation is never edited; undo it'); END
    """,
    """
    CREATE TRIGGER operation_remains BEFORE DELETE ON operation
    BEGIN SELECT RAISE(ABORT, 'an operation is never deleted; undo it'); END
    """,
)

_OUTCOMES: Final = (
    """
    CREATE TABLE outcome (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        job_id INTEGER NOT NULL REFERENCES job,
        at TEXT NOT NULL,
        words TEXT NOT NULL CHECK (length(words) > 0)
    ) STRICT
    """,
    "CREATE INDEX outcome_of_job ON outcome (job_id)",
    "ALTER TABLE build ADD COLUMN sheet TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX operation_by_time ON operation (at)",
)

_SEAL_AND_ONCE: Final = (
    """
    CREATE TABLE seal (
        name TEXT PRIMARY KEY,
        rows INTEGER NOT NULL CHECK (rows >= 0),
        digest TEXT NOT NULL CHECK (length(digest) = 32)
    ) STRICT, WITHOUT ROWID
    """,
    """
    CREATE TABLE once (
        id TEXT PRIMARY KEY CHECK (length(id) BETWEEN 1 AND 100),
        at TEXT NOT NULL,
        asked TEXT NOT NULL,
        operation_id INTEGER REFERENCES operation,
        outcome_id INTEGER REFERENCES outcome,
        CHECK ((operation_id IS NULL) <> (outcome_id IS NULL))
    ) STRICT, WITHOUT ROWID
    """,
)

_READINGS: Final = (
    "ALTER TABLE shelf_note ADD COLUMN readings TEXT NOT NULL DEFAULT ''",
    """
    ALTER TABLE build ADD COLUMN readings_taken TEXT NOT NULL DEFAULT '[]'
        CHECK (json_valid(readings_taken))
    """,
    """
    ALTER TABLE build ADD COLUMN readings_returned TEXT NOT NULL DEFAULT '[]'
        CHECK (json_valid(readings_returned))
    """,
)

_MEASURED: Final = (
    """
    CREATE TABLE measurement (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        build_id INTEGER NOT NULL REFERENCES build,
        at TEXT NOT NULL,
        runs TEXT NOT NULL,
        bands TEXT NOT NULL CHECK (json_valid(bands))
    ) STRICT
    """,
    "CREATE INDEX measurement_of_build ON measurement (build_id, id)",
)

_PREDICTED_RIDES: Final = (
    """
    CREATE TABLE ride_prediction (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        job_id INTEGER NOT NULL REFERENCES job,
        at TEXT NOT NULL,
        files TEXT NOT NULL,
        wheels TEXT NOT NULL CHECK (json_valid(wheels))
    ) STRICT
    """,
    "CREATE INDEX ride_prediction_of_job ON ride_prediction (job_id, id)",
)

MIGRATIONS: Final = (
    Migration(1, "shelf, jobs, builds and movements", _SHOP_BOOKS),
    Migration(2, "outcomes of rides and the sheet of a build", _OUTCOMES),
    Migration(3, "a seal over every row, and steps that are done once", _SEAL_AND_ONCE),
    Migration(4, "what single shims measured", _READINGS),
    Migration(5, "what a dyno measured of builds", _MEASURED),
    Migration(6, "how far predictions of rides were off", _PREDICTED_RIDES),
    Migration(7, "builds of several stacks, and of other parts", SEVERAL_STACKS),
)
