"""What is kept: one SQLite file, migrated and written by the daemon."""
