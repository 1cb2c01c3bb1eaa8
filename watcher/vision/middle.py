"""Middle values without ceremony: the eyes take thousands of small medians a second."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt


def middle(values: npt.NDArray[np.floating]) -> float:
    """Return the upper median of all values; nan where there are none."""
    flat = values.ravel()
    if flat.size == 0:
        return float("nan")
    half = flat.size // 2
    return float(np.partition(flat, half)[half])


def middle_of_columns(values: npt.NDArray[np.floating]) -> npt.NDArray[np.float64]:
    """Return the upper median of each column (C,) of values (N, C), N at least 1."""
    half = values.shape[0] // 2
    return np.asarray(np.partition(values, half, axis=0)[half], dtype=np.float64)


def middle_of_last(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the median over the last axis (N,) of values (..., N), N at least 1; even N: the mean of two."""
    size = values.shape[-1]
    half = size // 2
    ordered = np.sort(values, axis=-1)
    if size % 2:
        return np.asarray(ordered[..., half])
    return np.asarray(0.5 * (ordered[..., half - 1] + ordered[..., half]))
