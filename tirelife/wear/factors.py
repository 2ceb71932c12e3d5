"""What is known of each cause's size: a factor a cause, held before a log and learned from it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.driving import MOMENTS, Z80, default_profile
from tirelife.errors import misused
from tirelife.wear.cause import CAUSE_LOG_SD, CAUSES, RECORDS
from tirelife.wear.energy import reference_shares
from tirelife.wear.wrong import Wrong

__all__ = ["ASSUMED", "Factors", "severity_log_sd"]

Array = NDArray[np.float64]


LEVEL_LOG_SD: Final = 0.05
"""Standard deviation of what all log factors have in common; our choice, small. It moves no severity and no
log can tell it, so it is held: each factor is how much more or less its cause takes than the others do,
beside what the physics says."""


def _alone() -> tuple[tuple[float, ...], ...]:
    """Spreads of the causes' own, less what they would have in common."""
    square = np.square([CAUSE_LOG_SD[cause] for cause in CAUSES])
    common = 1 / np.sum(1 / square)
    cov = np.diag(square) - (common - LEVEL_LOG_SD**2)
    return tuple(tuple(float(v) for v in row) for row in cov)


@dataclass(frozen=True)
class Factors:
    """Normal distribution of the logarithms of the causes' factors, and how far recorded habits are believed.

    Attributes
    ----------
    log_mean : tuple of float
        By cause, in the order of :data:`~tirelife.wear.CAUSES`; 0 is what the physics says.
    cov : tuple of tuple of float
        Their covariance, to be used to first order: times the slope of a share of wear it is what is not
        known of the share.
    belief : float
        How much of what sets recorded habits apart from the usual ones is real: 1 all of it, 0 none.
    belief_sd : float
        Its standard deviation.
    usual : tuple of float
        Moments of the usual driving that habits are drawn towards, in the order of
        :data:`~tirelife.driving.profile.MOMENTS`; empty for the default profile's.
    level : tuple of float
        Shares of the causes at which the level of wear is known best: those of the vehicles that it was
        learned from; empty for the reference's.
    ranges : tuple of (float, float)
        80 % range of each logarithm where it is not that of the normal distribution: what a log says of a
        factor is about normal in the share of wear that it makes, and little of a small share can be told
        from none.

    Notes
    -----
    Severity is ``sum(f_c s_c) / sum(f_c S_c)``, with s_c what the physics gives a wheel and S_c the mean
    wheel of an ordinary vehicle under the default profile: factors share wear out among causes, and the
    level of wear is each tire's own. So factors say no more than one another's proportions, and what they
    have in common is held (``LEVEL_LOG_SD``).
    """

    log_mean: tuple[float, ...] = (0.0,) * len(CAUSES)
    cov: tuple[tuple[float, ...], ...] = ()
    belief: float = 1.0
    belief_sd: float = 0.0
    usual: tuple[float, ...] = ()
    level: tuple[float, ...] = ()
    ranges: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        if not self.cov:
            object.__setattr__(self, "cov", _alone())
        count = len(CAUSES)
        square = len(self.cov) == count and all(len(row) == count for row in self.cov)
        if (
            len(self.log_mean) != count
            or not square
            or len(self.usual) not in (0, len(MOMENTS))
            or len(self.level) not in (0, count)
            or len(self.ranges) not in (0, count)
        ):
            raise misused(Wrong.FACTORS, known=", ".join(CAUSES))

    @cached_property
    def weights(self) -> Array:
        """What each cause of the physics is multiplied by, shape (causes,)."""
        factor = np.exp(np.asarray(self.log_mean))
        return np.asarray(factor / (factor @ reference_shares()))

    @cached_property
    def covariance(self) -> Array:
        """Covariance of the log factors, shape (causes, causes)."""
        return np.array(self.cov)

    @cached_property
    def log_sd(self) -> dict[str, float]:
        """Standard deviation of each log factor, by cause."""
        return dict(zip(CAUSES, np.sqrt(np.diag(self.covariance)).tolist(), strict=True))

    @cached_property
    def anchor(self) -> Array:
        """Shares of the causes where the level of wear is known best: ``level``, or the reference's."""
        return np.array(self.level) if self.level else self.weights * reference_shares()

    def weigh(self, causes: Mapping[str, ArrayLike]) -> dict[str, Array]:
        """Causes as the physics gives them, multiplied by their factors; they sum to the severity."""
        return {
            cause: np.asarray(causes[cause], dtype=float) * weight
            for cause, weight in zip(CAUSES, self.weights, strict=True)
        }

    def spread(self, gap: ArrayLike) -> Array:
        """Standard deviation of the log of a ratio of severities.

        Parameters
        ----------
        gap : array_like, shape (..., causes)
            Shares of the causes on one side, less those on the other.
        """
        apart = np.asarray(gap, dtype=float)
        return np.asarray(np.sqrt(np.maximum(((apart @ self.covariance) * apart).sum(axis=-1), 0.0)))

    def of_change(self, habits_log_sd: ArrayLike = 0.0) -> Array:
        """Covariance of what a change does to each cause, shape (..., causes, causes).

        Parameters
        ----------
        habits_log_sd : array_like, shape (...)
            The driving profile's own. What a change is worth rests on the factor of a cause and on how much
            of its habit there is. Half of the profile's variance is taken to be each habit's own, and half
            common to all, which is no matter to a ratio (our assumption).
        """
        own = np.array([float(cause.driver and cause.energy is not None) for cause in RECORDS])
        return np.asarray(
            self.covariance
            + np.square(np.asarray(habits_log_sd, dtype=float))[..., None, None] / 2 * np.diag(own)
        )

    def change_spread(self, gap: ArrayLike, habits_log_sd: ArrayLike = 0.0) -> Array:
        """Standard deviation of the log of what a change does.

        Parameters
        ----------
        gap : array_like, shape (..., causes)
            Shares of the causes after it, less those before.
        habits_log_sd : array_like, shape (...)
            As :meth:`of_change` takes it.
        """
        apart = np.asarray(gap, dtype=float)
        square = np.einsum("...i,...ij,...j->...", apart, self.of_change(habits_log_sd), apart)
        return np.asarray(np.sqrt(np.maximum(square, 0.0)))

    def believed(self, moments: pd.DataFrame) -> pd.DataFrame:
        """Moments of recorded habits, drawn towards the usual ones as far as they are not believed."""
        if self.belief == 1.0:
            return moments
        usual: Any = self.usual or [getattr(default_profile(), name) for name in MOMENTS]
        out = moments.copy()
        middle = np.asarray(usual, dtype=float)
        out[list(MOMENTS)] = middle + self.belief * (moments[list(MOMENTS)].to_numpy(float) - middle)
        return out

    def table(self) -> pd.DataFrame:
        """One row a cause: ``cause, factor, lower, upper`` (80 % range), ``log_sd`` (of a range so wide)."""
        mean = np.array(self.log_mean)
        reach = Z80 * np.sqrt(np.diag(self.covariance))
        low, high = np.array(self.ranges).T if self.ranges else (mean - reach, mean + reach)
        sd = (high - low) / (2 * Z80)
        return pd.DataFrame(
            {
                "cause": list(CAUSES),
                "factor": np.exp(mean),
                "lower": np.exp(low),
                "upper": np.exp(high),
                "log_sd": sd,
            }
        )

    @property
    def finite(self) -> bool:
        """Whether all of it is numbers."""
        return all(math.isfinite(v) for v in (*self.log_mean, *np.ravel(self.cov), self.belief))


ASSUMED: Final[Factors] = Factors()
"""What is held before any log: the physics, with each cause's own spread."""


def severity_log_sd(
    causes: Mapping[str, ArrayLike],
    profile_log_sd: ArrayLike = 0.0,
    figures_log_sd: ArrayLike = 0.0,
    factors: Factors = ASSUMED,
) -> Array:
    """Standard deviation of the logarithm of severity.

    Parameters
    ----------
    causes : mapping of str to array_like
        As :meth:`Factors.weigh` returns them.
    profile_log_sd : array_like
        The driving profile's own.
    figures_log_sd : array_like
        Of figures of the vehicle that are defaults; see :func:`~tirelife.wear.vehicle_log_sd`.
    factors : Factors
        What is known of the causes' sizes.

    Notes
    -----
    First order: a cause's factor is the same here and at the reference, so what matters is how far its share
    differs from its share there.
    """
    share = np.stack(
        [np.asarray(v, dtype=float) for v in np.broadcast_arrays(*(causes[c] for c in CAUSES))], -1
    )
    total = share.sum(axis=-1, keepdims=True)
    share = np.divide(share, total, where=total > 0, out=np.zeros_like(share))
    known = np.square(np.asarray(profile_log_sd, dtype=float)) + np.square(
        np.asarray(figures_log_sd, dtype=float)
    )
    return np.asarray(np.sqrt(factors.spread(share - factors.anchor) ** 2 + known))
