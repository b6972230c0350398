"""Published tables and the starter garden, carried with the package."""
