"""Readings against what was expected: meters, flow of a bed, causes, leaks and slow drift."""
