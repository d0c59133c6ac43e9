"""Tables of builds that change several stacks, or other parts than shims: the seventh migration."""

from __future__ import annotations

from typing import Final

_ONE_OPEN: Final = """
    SELECT 1 FROM built_stack AS mine JOIN built_stack AS other
    ON other.damper_id = mine.damper_id AND other.stack_name = mine.stack_name
    AND other.build_id <> mine.build_id
    WHERE mine.state = 'reserved' AND other.state = 'reserved' AND mine.build_id =
"""

SEVERAL_STACKS: Final = (
    """
    CREATE TABLE build_stack (
        build_id INTEGER NOT NULL REFERENCES build,
        stack_name TEXT NOT NULL CHECK (length(stack_name) > 0),
        stack TEXT NOT NULL CHECK (json_valid(stack)),
        PRIMARY KEY (build_id, stack_name)
    ) STRICT, WITHOUT ROWID
    """,
    "ALTER TABLE build ADD COLUMN parts TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(parts))",
    """
    CREATE TABLE damper_part (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        damper_id INTEGER NOT NULL REFERENCES damper,
        kind TEXT NOT NULL CHECK (kind IN ('oil', 'gas pressure', 'bleed')),
        name TEXT NOT NULL,
        at TEXT NOT NULL,
        origin TEXT NOT NULL CHECK (origin IN ('as found', 'built', 'put back')),
        operation_id INTEGER REFERENCES operation,
        value TEXT NOT NULL CHECK (json_valid(value)),
        CHECK ((origin = 'as found') = (operation_id IS NULL))
    ) STRICT
    """,
    "CREATE INDEX damper_part_latest ON damper_part (damper_id, kind, name, id)",
    """
    CREATE VIEW built_stack AS
    SELECT id AS build_id, damper_id, state, stack_name, stack FROM build
    UNION ALL
    SELECT build_id, damper_id, state, build_stack.stack_name, build_stack.stack
    FROM build_stack JOIN build ON build.id = build_id
    """,
    *(
        f"""
        CREATE TRIGGER one_open_build_of_{name} AFTER {event} ON {table}
        WHEN EXISTS ({_ONE_OPEN} {build})
        BEGIN SELECT RAISE(ABORT, 'a stack of this damper has an open build'); END
        """
        for name, event, table, build in (
            ("new_build", "INSERT", "build", "new.id"),
            ("reopened_build", "UPDATE OF state", "build", "new.id"),
            ("further_stack", "INSERT", "build_stack", "new.build_id"),
        )
    ),
)
