"""How far the shape of a falling level is trusted to tell the gain: less than arithmetic would have it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from models.course import GAIN
from models.solve import Solved

TRUST = 0.1
"""Share of what the level seems to tell of the gain that is believed. The gain (water per wall) shows in the
shape of the fall alone, through the ring that narrows the hole; so does every departure of real growth from
the fitted law, and of the ring from the mean wall. Chosen so that ranges hold on drawn casts of moulds that
were only guessed at (`trial_table`)."""


def modest(solved: Solved) -> Solved:
    """Draw an answer back towards what was believed of the gain, along the ridge that the levels leave free.

    The gain's precision gained from the levels is cut to `TRUST` of it; all else follows as it hangs
    together with the gain, so that the levels are met as before.
    """
    believed, own = float(solved.belief.mean[GAIN]), float(solved.belief.sd[GAIN]) ** 2
    found, variance = float(solved.unknowns[GAIN]), float(solved.covariance[GAIN, GAIN])
    told = 1.0 / variance - 1.0 / own
    if told <= 1e-9 / own:
        return solved
    seen = (found / variance - believed / own) / told  # what the levels alone would have it be
    precision = 1.0 / own + TRUST * told
    mean = (believed / own + TRUST * told * seen) / precision
    along = solved.covariance[:, GAIN] / variance
    wider = 1.0 / precision - variance
    return replace(
        solved,
        unknowns=solved.unknowns + along * (mean - found),
        covariance=solved.covariance + wider * np.outer(along, along),
    )
