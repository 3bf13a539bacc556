"""The log in SQL: one append-only table of entries a place, and the entries held beside it."""
