"""Many small matrices at once: inverses worked along the batch instead of one matrix after another."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["inverse", "lower_inverse"]

Array = NDArray[np.float64]
_CHUNK: Final = 50_000
"""Numbers of the matrices that are worked together, so that they stay in the processor's cache."""
_SMALL: Final = 8
"""Rows up to which triangular matrices are inverted row by row; more are halved."""


def lower_inverse(lower: Array) -> Array:
    """Inverses of lower triangular matrices.

    Parameters
    ----------
    lower : ndarray, shape (..., n, n)
        What stands above the diagonal is not read.

    Returns
    -------
    ndarray, shape (..., n, n)

    Notes
    -----
    LAPACK takes as long to call as to invert a matrix of ten rows; here every step of the forward
    substitution is one operation along all matrices. Larger ones are halved: what stands between the halves
    is two products.
    """
    n = lower.shape[-1]
    flat = lower.reshape(-1, n, n)
    out = np.zeros(flat.shape)
    _invert(flat, out)
    return out.reshape(lower.shape)


def _invert(flat: Array, out: Array) -> None:
    """Inverses of lower triangular matrices (b, n, n) into ``out``, which is 0 above the diagonal."""
    n = flat.shape[-1]
    if n > _SMALL:
        half = n // 2
        first, last = slice(half), slice(half, n)
        _invert(flat[:, first, first], out[:, first, first])
        _invert(flat[:, last, last], out[:, last, last])
        np.matmul(-out[:, last, last] @ flat[:, last, first], out[:, first, first], out=out[:, last, first])
        return
    step = max(1, _CHUNK // max(n * n, 1))
    for at in range(0, len(flat), step):
        some = np.ascontiguousarray(flat[at : at + step].transpose(1, 2, 0))
        made = np.zeros(some.shape)
        for i in range(n):
            made[i, i] = 1 / some[i, i]
            if i:
                made[i, :i] = np.einsum("jb,jkb->kb", some[i, :i], made[:i, :i])
                made[i, :i] *= -made[i, i]
        out[at : at + step] = made.transpose(2, 0, 1)


def inverse(matrices: Array) -> tuple[Array, float]:
    """Inverses of positive definite matrices, shape (..., n, n), and the sum of their log determinants.

    Raises
    ------
    LinAlgError
        If one is not positive definite.
    """
    root = np.asarray(np.linalg.cholesky(matrices), dtype=float)
    upper = lower_inverse(root)
    row = np.arange(matrices.shape[-1])
    # Of a matrix with itself numpy makes a rank update, which for small ones takes longer than a product.
    return upper.swapaxes(-1, -2) @ upper.copy(), 2 * float(np.log(root[..., row, row]).sum())
