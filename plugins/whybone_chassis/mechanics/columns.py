"""Component-first vector algebra for the solver's inner loop: arrays of shape (3, ..., n).

Only sums, products, quotients and roots, element by element: every result is the IEEE one,
so a row gives the same bits in a batch of any size and on any machine.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

from whybone_chassis.mechanics.vectors import FloatArray, IntArray

T = TypeVar("T", np.float64, np.bool_)


def columns(rows: FloatArray) -> FloatArray:
    """Component-first copy of an (n, k) array."""
    return np.ascontiguousarray(rows.T)


def rows(columns: FloatArray) -> FloatArray:
    """Row-first copy of a (k, n) array."""
    return np.ascontiguousarray(columns.T)


def pick(values: npt.NDArray[T], index: IntArray) -> npt.NDArray[T]:
    """Rows of the last axis named by `index`, kept contiguous along it.

    An axis of length one stands for any number of equal rows and stays as it is. Plain indexing
    would lay the result out with the rows far apart, at three times the cost of everything
    done with it.
    """
    return values if values.shape[-1] == 1 else np.take(values, index, axis=-1)


def dot(a: FloatArray, b: FloatArray) -> FloatArray:
    """Scalar product over the first axis of length 3."""
    product: FloatArray = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    return product


def cross(a: FloatArray, b: FloatArray) -> FloatArray:
    """Vector product over the first axis of length 3."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    out[0] = a[1] * b[2] - a[2] * b[1]
    out[1] = a[2] * b[0] - a[0] * b[2]
    out[2] = a[0] * b[1] - a[1] * b[0]
    return out


def matrix(turn: FloatArray) -> FloatArray:
    """Rotation matrices (3, 3, n) of unit quaternions (4, n), scalar part first."""
    w, x, y, z = turn
    x2, y2, z2 = x + x, y + y, z + z
    xx, yy, zz = x * x2, y * y2, z * z2
    xy, xz, yz = x * y2, x * z2, y * z2
    wx, wy, wz = w * x2, w * y2, w * z2
    out = np.empty((3, 3, turn.shape[1]))
    out[0, 0], out[0, 1], out[0, 2] = 1.0 - (yy + zz), xy - wz, xz + wy
    out[1, 0], out[1, 1], out[1, 2] = xy + wz, 1.0 - (xx + zz), yz - wx
    out[2, 0], out[2, 1], out[2, 2] = xz - wy, yz + wx, 1.0 - (xx + yy)
    return out


def turned(turn: FloatArray, step: FloatArray) -> FloatArray:
    """Turn unit quaternions (4, n) on by small rotation vectors (3, n), Cayley's formula.

    Exact in the limit of small steps, a proper rotation for any.
    """
    w, x, y, z = turn
    a, b, c = 0.5 * step
    out = np.empty_like(turn)
    out[0] = w - a * x - b * y - c * z
    out[1] = x + a * w + b * z - c * y
    out[2] = y + b * w + c * x - a * z
    out[3] = z + c * w + a * y - b * x
    length = np.sqrt(out[0] * out[0] + out[1] * out[1] + out[2] * out[2] + out[3] * out[3])
    out /= length
    return out
