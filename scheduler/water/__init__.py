"""The pure kernel: crop coefficients, the root-zone balance and the need."""
