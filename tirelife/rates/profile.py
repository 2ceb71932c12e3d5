"""The restricted likelihood along one variance, without what else an evaluation works out."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.blocks import (
    SPREADS,
    Blocks,
    Columns,
    Part,
    common_of,
    kernels_of,
    own_of,
    prior_of,
    spread_of,
)
from tirelife.rates.likelihood import Fixed, add_local, add_square, in_turn

__all__ = ["profile"]

Array = NDArray[np.float64]

_OWN = tuple(SPREADS.index(name) for name in ("noise", "scatter", "drift"))


def profile(
    blocks: Blocks,
    parts: Sequence[Part],
    columns: Columns,
    spreads: Array,
    law_mean: Array,
    law_precision: Array,
    j: int,
    values: Array,
) -> Array:
    """Criterion of :func:`~tirelife.rates.likelihood.evaluate` at values of one variance, the others held.

    Parameters
    ----------
    blocks, parts, columns
        The model.
    spreads : ndarray, shape (9,)
        Variances, see :data:`~tirelife.rates.blocks.SPREADS`.
    law_mean, law_precision : ndarray, shape (p,)
        Normal law of the fixed effects.
    j : int
        Which variance is varied.
    values : ndarray, shape (g,)

    Returns
    -------
    ndarray, shape (g,)
        -2 log restricted likelihood.

    Notes
    -----
    V = A + U G U' (:func:`~tirelife.rates.blocks.block_moments`): a variance that is only in G leaves A and
    all that follows from it as they are, so more values cost little.
    """
    p = blocks.fixed
    found = in_turn(lambda part: _along(blocks, part, columns, spreads, j, values), parts)
    count = len(blocks.row_unit) - int((law_precision <= 0).sum())
    out = np.full(len(values), count * math.log(2 * math.pi))
    for i in range(len(values)):
        normal, right = np.zeros((p + 1, p + 1)), np.zeros(p + 1)
        for part, own in zip(parts, found, strict=True):
            alone, cross, pull = own[i]
            out[i] += alone
            normal += add_square(part, cross, p)
            right += add_local(part, pull, p)
        out[i] += Fixed.solve(normal, right, law_mean, law_precision).criterion
    return out


def _along(
    blocks: Blocks, part: Part, columns: Columns, spreads: Array, j: int, values: Array
) -> list[tuple[float, Array, Array]]:
    """At each value: log determinant of V and z' V^-1 z, summed; X' V^-1 X (B, m, m); X' V^-1 z (B, m)."""
    size, k, w = part.rows.shape
    kernels = kernels_of(columns.slope[part.rows], columns.clock[part.rows])
    common = common_of(part, columns)
    wide = common.shape[3]
    both = np.concatenate([common, columns.response[part.rows][..., None]], axis=3)
    row, seen = np.arange(w), part.occasions
    now = spreads.copy()
    out: list[tuple[float, Array, Array]] = []
    for value in values:
        now[j] = value
        if not out or j in _OWN:
            own = own_of(part, columns, now, *kernels)
            of_own = 2 * float(np.log(np.linalg.cholesky(own)[..., row, row]).sum())
            solved = np.linalg.solve(own, both).reshape(size, k * w, wide + 1)
            inner = both.reshape(size, k * w, wide + 1).transpose(0, 2, 1) @ solved
        spread = spread_of(part, prior_of(blocks, part, columns, now), now[1])
        # V^-1 = M - M U H U' M: of both what U and z have of it.
        left = inner[:, :wide, :wide]
        solve = np.eye(wide) + left @ spread
        middle = spread @ np.linalg.solve(solve, inner[:, :wide, seen:])
        of_all = inner[:, seen:, seen:] - inner[:, seen:, :wide] @ middle
        log_det = of_own + float(np.linalg.slogdet(solve)[1].sum())
        out.append((log_det + float(of_all[:, -1, -1].sum()), of_all[:, :-1, :-1], of_all[:, :-1, -1]))
    return out
