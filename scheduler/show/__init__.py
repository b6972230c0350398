"""Results as tables, text and pictures."""
