"""Two normals of one number, each as likely as the readings make it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.driving import Z80
from tirelife.normal import ndtr

__all__ = ["Mixture"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Mixture:
    """A mixture of normals: how likely each is, its mean and its standard deviation."""

    share: tuple[float, ...]
    mean: tuple[float, ...]
    sd: tuple[float, ...]

    @classmethod
    def of_frame(cls, frame: pd.DataFrame) -> Mixture:
        """From a row a component: share, mean, sd."""
        return cls(*(tuple(frame[name].astype(float)) for name in ("share", "mean", "sd")))

    def to_frame(self) -> pd.DataFrame:
        """A row a component."""
        return pd.DataFrame({"share": self.share, "mean": self.mean, "sd": self.sd})

    @property
    def middle(self) -> float:
        """Mean over both."""
        return float(np.dot(self.share, self.mean))

    @property
    def spread(self) -> float:
        """Sd of the normal whose 80 % range is as wide."""
        low, high = self.quantiles([0.1, 0.9])
        return float(high - low) / (2 * Z80)

    def quantiles(self, probabilities: ArrayLike) -> Floats:
        """Quantiles, by the distribution function on a grid."""
        mean, sd = np.array(self.mean), np.array(self.sd)
        grid = np.linspace((mean - 5 * sd).min(), (mean + 5 * sd).max(), 8001)
        below = ndtr((grid[:, None] - mean) / sd) @ np.array(self.share)
        return np.asarray(np.interp(np.asarray(probabilities, dtype=float), below, grid))
