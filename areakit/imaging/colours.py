"""Sums over the three channels of colours: written out, since numpy is slow on an axis so short."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

Singles = npt.NDArray[np.float32]


def dot(a: Singles, b: Singles) -> Singles:
    """Return the scalar product of colours, shapes (..., 3) or (3,), of the shape without the last axis."""
    return dot_of_planes([a[..., i] for i in range(3)], [b[..., i] for i in range(3)])


def dot_of_planes(a: Sequence[Any], b: Sequence[Any]) -> Singles:
    """Return the scalar product of colours that are given as three planes of one shape, of that shape."""
    product: Singles = a[0] * b[0]
    product += a[1] * b[1]
    product += a[2] * b[2]
    return product


def size(colour: Singles) -> Singles:
    """Return the Euclidean size of colours, shape (..., 3)."""
    return np.asarray(np.sqrt(dot(colour, colour)), dtype=np.float32)


def mean(colour: Singles) -> Singles:
    """Return the mean of the three channels of colours, shape (..., 3)."""
    return np.asarray((colour[..., 0] + colour[..., 1] + colour[..., 2]) / np.float32(3.0), dtype=np.float32)
