"""The chain run over a span of days, and the bill."""
