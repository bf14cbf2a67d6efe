"""Row-wise vector algebra on the last axis.

Written out component by component so that a row gives the same bits in a batch of any size.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


def dot(a: FloatArray, b: FloatArray) -> FloatArray:
    """Scalar product over the last axis of length 3."""
    product: FloatArray = a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2]
    return product


def cross(a: FloatArray, b: FloatArray) -> FloatArray:
    """Vector product over the last axis of length 3."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    return np.stack((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx), axis=-1)


def norm(a: FloatArray) -> FloatArray:
    """Euclidean length over the last axis of length 3."""
    length: FloatArray = np.sqrt(dot(a, a))
    return length


def scale(factor: FloatArray, a: FloatArray) -> FloatArray:
    """Each row's vector times the row's factor; a 0/0 factor is the caller's to guard."""
    scaled: FloatArray = factor[..., None] * a
    return scaled


def unit(a: FloatArray) -> FloatArray:
    """Direction of each row's vector; NaN where its length is zero."""
    length = norm(a)
    safe = np.where(length > 0.0, length, np.nan)
    direction: FloatArray = a / safe[..., None]
    return direction


def rotate(matrix: FloatArray, a: FloatArray) -> FloatArray:
    """Row-wise product of (n, 3, 3) matrices and (n, 3) vectors."""
    return np.stack([dot(matrix[..., i, :], a) for i in range(3)], axis=-1)
