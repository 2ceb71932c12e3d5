"""Start or rate: what the readings can tell apart, before they are fitted."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.blocks import split
from tirelife.rates.likelihood import evaluate
from tirelife.rates.wearing import linearize, prior_state

if TYPE_CHECKING:
    from tirelife.rates.blocks import Blocks
    from tirelife.rates.wearing import Priors, Readings

__all__ = ["own_starts", "unidentified_starts"]

UNIDENTIFIED: Final = 0.8
"""Share of a distribution's variance left, from which the readings are taken to say nothing of a line's
start."""


def unidentified_starts(blocks: Blocks, data: Readings, priors: Priors) -> NDArray[np.int64]:
    """Fixed effects on starts of which the readings say next to nothing, whatever the rates are.

    Parameters
    ----------
    blocks, data, priors
        The model.

    Returns
    -------
    ndarray
        Indices of fixed effects, rising.

    Notes
    -----
    All tires of a line read at about one distance: a deeper start with a faster rate fits as well. The paths
    are linearized at the rates held before the readings, alike for all, so that only distances tell: the
    information about each start with every rate free. Linearized at each tire's own rate the columns would
    differ by chance, and seem to tell.
    """
    starts = np.unique(blocks.start_fixed[blocks.start_fixed < blocks.fixed])
    if not len(data.response) or not len(starts):
        return starts[:0]
    columns, _ = linearize(blocks, data, prior_state(blocks, priors), np.ones(len(data.response)))
    variances = np.where(np.isfinite(priors.log_variance_mean), np.exp(priors.log_variance_mean), 0.0)
    found = evaluate(
        blocks,
        split(blocks),
        columns,
        variances,
        priors.mean,
        priors.precision,
        gradient=False,
        wandering=False,
    )
    information = np.linalg.inv(found.cov) - np.diag(priors.precision)
    rest = np.setdiff1d(np.arange(blocks.fixed), [*starts, blocks.bend_fixed])
    cross = information[np.ix_(rest, starts)]
    inside = np.linalg.pinv(information[np.ix_(rest, rest)], rcond=1e-9, hermitian=True)
    alone = np.diag(information)[starts] - np.einsum("rs,rt,ts->s", cross, inside, cross)
    prior = priors.precision[starts]
    return np.asarray(starts[prior > UNIDENTIFIED * (prior + np.maximum(alone, 0.0))])


def own_starts(
    blocks: Blocks, data: Readings, priors: Priors, unidentified: NDArray[np.int64]
) -> tuple[Blocks, Readings]:
    """The same model, where each tire has for its own what is not known of its line's start."""
    mine = np.isin(blocks.start_fixed, unidentified)
    at = np.where(mine, blocks.start_fixed, 0)
    return (
        replace(
            blocks,
            start_fixed=np.where(mine, blocks.fixed, blocks.start_fixed),
            start_extra=blocks.start_extra + np.where(mine, 1 / priors.precision[at], 0.0),
        ),
        replace(data, start=data.start + np.where(mine, priors.mean[at], 0.0)),
    )
