"""From emitters to application rate and uniformity."""
