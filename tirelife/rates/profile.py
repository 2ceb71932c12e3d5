"""The restricted likelihood along one variance, without what else an evaluation works out."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.batches import inverse, lower_inverse
from tirelife.rates.blocks import (
    VARIANCES,
    Blocks,
    Columns,
    Part,
    common_of,
    own_of,
)
from tirelife.rates.likelihood import Fixed, add_local, add_square, in_turn
from tirelife.rates.moments import root_of

__all__ = ["profile"]

Array = NDArray[np.float64]

_OWN = tuple(VARIANCES.index(name) for name in ("noise", "scatter", "drift"))


def profile(
    blocks: Blocks,
    parts: Sequence[Part],
    columns: Columns,
    variances: Array,
    prior_mean: Array,
    prior_precision: Array,
    j: int,
    values: Array,
) -> Array:
    """Criterion of :func:`~tirelife.rates.likelihood.evaluate` at values of one variance, the others held.

    Parameters
    ----------
    blocks, parts, columns
        The model.
    variances : ndarray, shape (9,)
        Variances, see :data:`~tirelife.rates.blocks.VARIANCES`.
    prior_mean, prior_precision : ndarray, shape (p,)
        Normal distribution of the fixed effects.
    j : int
        Which variance is varied.
    values : ndarray, shape (g,)

    Returns
    -------
    ndarray, shape (g,)
        -2 log restricted likelihood.

    Notes
    -----
    V = A + U G U' (:func:`~tirelife.rates.moments.block_moments`): a variance that is only in G leaves A and
    all that follows from it as they are, so more values cost little.
    """
    p = blocks.fixed
    found = in_turn(lambda part: _along(blocks, part, columns, variances, j, values), parts)
    count = len(blocks.row_unit) - int((prior_precision <= 0).sum())
    out = np.full(len(values), count * math.log(2 * math.pi))
    for i in range(len(values)):
        normal, right = np.zeros((p + 1, p + 1)), np.zeros(p + 1)
        for part, own in zip(parts, found, strict=True):
            alone, cross, pull = own[i]
            out[i] += alone
            normal += add_square(part, cross, p)
            right += add_local(part, pull, p)
        out[i] += Fixed.solve(normal, right, prior_mean, prior_precision).criterion
    return out


def _along(
    blocks: Blocks, part: Part, columns: Columns, variances: Array, j: int, values: Array
) -> list[tuple[float, Array, Array]]:
    """At each value: log determinant of V and z' V^-1 z, summed; X' V^-1 X (B, m, m); X' V^-1 z (B, m)."""
    size, k, w = part.rows.shape
    both = common_of(part, columns)
    wide = both.shape[3]
    seen = part.occasions
    now = variances.copy()
    out: list[tuple[float, Array, Array]] = []
    for value in values:
        now[j] = value
        if not out or j in _OWN:
            own, of_own = inverse(own_of(part, columns, now))
            solved = (own @ both).reshape(size, k * w, wide)
            inner = both.reshape(size, k * w, wide).transpose(0, 2, 1) @ solved
        root = root_of(blocks, part, columns, now)
        r = root.scale.shape[1]
        information = root.around(inner[:, :r, :r])
        row = np.arange(r)
        information[:, row, row] += 1
        lower = np.asarray(np.linalg.cholesky(information), dtype=float)
        # V^-1 = M - F F': of both what X and z have of it.
        last = root.after(lower_inverse(lower)) @ inner[:, :r, seen:]
        of_all = inner[:, seen:, seen:] - last.transpose(0, 2, 1) @ last.copy()
        log_det = of_own + 2 * float(np.log(lower[:, row, row]).sum())
        out.append((log_det + float(of_all[:, -1, -1].sum()), of_all[:, :-1, :-1], of_all[:, :-1, -1]))
    return out
