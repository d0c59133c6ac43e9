"""The shop's ledger: SQLite, stock as a sum of movements, nothing lost."""
