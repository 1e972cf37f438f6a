"""The mentor's record: rows in a database."""
