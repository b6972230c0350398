"""What is kept from week to week, in one append-only SQLite file: weather, advice, runs, readings, bills."""
