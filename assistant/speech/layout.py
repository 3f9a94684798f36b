"""How the acoustic network is laid out: what those that make it and those that pack it must agree on. No torch."""

STEPS = (1, 1, 1, 0, *(3,) * 10)
"""Frames that each factored layer looks back and ahead; time is thinned to every third frame before the fourth."""
THIN_BEFORE = 3
SUBSAMPLING = 3
CONTEXT = 1 + sum(STEPS)
"""Frames of context on each side."""
BYPASS = 0.66
"""Share of a layer's input that is added to its output."""
EPSILON = 1e-3
