"""Whether a function gives for each number what it gives for the number's place in an array."""

import numpy as np

__all__ = ["assert_slices_agree"]


def assert_slices_agree(function, columns, **fixed):
    """Call `function` once with the arrays of `columns` and once for each place in them."""
    whole = function(**columns, **fixed)
    for place in range(len(next(iter(columns.values())))):
        one = function(**{name: values[place] for name, values in columns.items()}, **fixed)
        parts = zip(whole, one, strict=True) if isinstance(whole, tuple) else [(whole, one)]
        for many, single in parts:
            assert np.shape(single) == ()
            np.testing.assert_allclose(many[place], single, rtol=1e-12, atol=1e-12)
