"""What a person writes: the plan, its units and the published tables behind it."""
