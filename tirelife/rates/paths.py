"""Degradation paths in general, fitted by the code that fits tires: lasers, cracks, reaction times."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused, unfit
from tirelife.rates.advice import Advice, Check
from tirelife.rates.blocks import ENTRIES, VARIANCES, Blocks
from tirelife.rates.curved import CurvedPaths
from tirelife.rates.lmm import LinearMixedFit, fit_lmm
from tirelife.rates.wearing import Estimate, Priors, Readings, estimate, posterior_modes
from tirelife.rates.wrong import Wrong

__all__ = ["PathFit", "fit_paths"]

Array = NDArray[np.float64]

_BLIND: Final = 1e6
"""Noise of a row that is to be predicted, as a multiple of a reading's: it then tells nothing itself."""
_Z90: Final = 1.6448536269514722


@dataclass(frozen=True, eq=False)
class PathFit:
    """Fitted paths y = start + rate * time, unit by unit.

    Attributes
    ----------
    estimates : DataFrame
        ``term, estimate, std_error``: mean start and mean rate (or mean log rate), curvature.
    components : DataFrame
        ``term, estimate``: variances and covariances.
    units : DataFrame
        ``unit, start, rate``: each unit's own, as predicted from all the data; the start is the level at
        time 0, or at the first time where wandering paths have times before 0.
    checks : DataFrame
        ``check, value, limit, passed, advice``: whether the paths bend.
    criterion : float
        -2 log (restricted) likelihood; for a nonlinear model that of the last linearized one.
    method : str
    link : str
    scale : str
        Whether errors are even on the response (``raw``) or on its log.
    """

    frames: dict[str, pd.DataFrame] = field(repr=False)
    criterion: float
    method: str
    link: str
    _model: Any = field(repr=False)
    scale: str = "raw"

    @property
    def estimates(self) -> pd.DataFrame:
        """Means over units, with standard errors."""
        return self.frames["estimates"].copy()

    @property
    def components(self) -> pd.DataFrame:
        """Variances."""
        return self.frames["components"].copy()

    @property
    def units(self) -> pd.DataFrame:
        """Each unit's own start and rate."""
        return self.frames["units"].copy()

    @property
    def checks(self) -> pd.DataFrame:
        """Whether straight paths will do."""
        return self.frames["checks"].copy()

    def predict(
        self,
        unit: Sequence[object],
        time: Sequence[float],
        unseen: Literal["error", "average"] = "error",
    ) -> pd.DataFrame:
        """Predict readings of units at times.

        Parameters
        ----------
        unit, time : sequence
            Of equal length.
        unseen : {"error", "average"}
            What to do with a unit that was not in the data: refuse, or take it for a new one, an average unit
            with the full spread between units.

        Returns
        -------
        DataFrame
            ``unit, time, mean, std_error, sd, lower, upper``: the path's mean (on the log scale its median)
            and standard error (for a unit never seen, of the average path), the standard deviation of a new
            reading, and its 90 % range.

        Raises
        ------
        InputError
            If a unit was not in the data and ``unseen`` is ``"error"``.
        """
        names = list(self.frames["units"]["unit"])
        number = {name: i for i, name in enumerate(names)}
        which = np.array([number.get(name, -1) for name in unit])
        at = np.asarray(time, float)
        if (which < 0).any() and unseen == "error":
            lost = next(name for name, i in zip(unit, which, strict=True) if i < 0)
            raise misused(Wrong.UNSEEN, lost=lost)
        mean, error, sd = self._model.predict(which, at)
        lower, upper = mean - _Z90 * sd, mean + _Z90 * sd
        if self.scale == "log" and not isinstance(self._model, CurvedPaths):
            mean, lower, upper = np.exp(mean), np.exp(lower), np.exp(upper)
            error, sd = mean * error, mean * sd
        return pd.DataFrame(
            {
                "unit": list(unit), "time": at, "mean": mean, "std_error": error, "sd": sd,
                "lower": lower, "upper": upper,
            }
        )  # fmt: skip


def fit_paths(
    frame: pd.DataFrame,
    response: str,
    time: str,
    unit: str,
    *,
    link: Literal["auto", "log", "identity"] = "auto",
    start: Literal["auto", "random"] | float = "auto",
    wander: bool = True,
    curved: bool = False,
    scale: Literal["raw", "log", "auto"] = "raw",
    inspection: str | None = None,
    method: Literal["REML", "ML"] = "REML",
) -> PathFit:
    """Fit each unit's path of degradation, all units lending each other strength.

    Parameters
    ----------
    frame : DataFrame
        One row a reading; rows with a missing value are left out.
    response, time, unit : str
        Columns: what degrades (up or down), how long or far it was in use, and which unit it was.
    link : {"auto", "log", "identity"}
        Whether the units' log rates are normal, so that rates keep their sign, or the rates themselves. By
        default the log where all units' own lines go one way.
    start : {"auto", "random"} or float
        A level at time 0 that is known of all units, or random: each has its own. By default a level that
        all units read alike at time 0 is taken as known, and those readings, which then tell nothing, are
        left out; any other is random.
    wander : bool
        Whether a path scatters as it goes (a Wiener process scaled with the rate), beside the errors of
        single readings. False leaves independent errors about a smooth path; with ``link="identity"`` that
        is the plain linear mixed model with random intercepts and slopes.
    curved : bool
        Whether the rate is ``rate * level**exponent``, each unit with a rate, an exponent and, where it is
        not known, a start of its own (correlated normals), errors independent; readings must be over 0.
    scale : {"raw", "log", "auto"}
        Whether errors are even on the response or on its log; a path that is not curved is straight on that
        scale. ``auto``: whichever is likelier, for readings over 0.
    inspection : str, optional
        Column that says which readings were taken at one inspection: their errors share a part. Not for
        curved paths.
    method : {"REML", "ML"}
        For the plain linear mixed model; otherwise REML.

    Returns
    -------
    PathFit

    Raises
    ------
    InputError
        If a column is missing, or options exclude each other.
    FitError
        If the data cannot fix the model.

    Notes
    -----
    The plain linear model is fitted exactly (:mod:`tirelife.rates.lmm`). The others go through the engine
    that fits tires (:mod:`tirelife.rates.wearing`), with one unit a block and weak priors for the log
    variances (sd 3, about a fraction of the range of the data): ours, and too weak to matter where there
    are a few units; from three sets of variances, and the likeliest of what converges is kept. With an
    ``inspection`` all units are one block, whose work grows with the cube of their number: some hundreds.
    The scales are compared by the likelihood of the readings as they are, so that of the logs has their
    Jacobian: 2 sum(log y), and (n - p) / n of it where p means are integrated out (restricted likelihood),
    so that the response's unit does not matter.
    """
    names = [response, time, unit, *([inspection] if inspection else [])]
    missing = [name for name in names if name not in frame]
    if missing:
        raise misused(Wrong.NO_COLUMN, missing=missing[0], known=", ".join(map(str, frame)))
    if curved and inspection:
        raise misused(Wrong.INDEPENDENT)
    rows = frame[list(dict.fromkeys(names))].dropna()
    level = None if isinstance(start, str) else float(start)
    if start == "auto":
        level = _known_start(rows, response, time)
        if level is not None:
            rows = rows[rows[time] != 0]
    if rows.empty:
        raise unfit(Wrong.NO_READING)
    if level is not None and (rows[time] < 0).any():
        raise misused(Wrong.BEFORE_ZERO, time=time)
    over = bool((rows[response] > 0).all()) and (level is None or level > 0)
    if (curved or scale != "raw") and not over:
        raise misused(Wrong.NEEDS_START)
    rows = rows.sort_values([unit, time], kind="stable")
    options = (time, unit, inspection, link, level, wander, curved, method)
    if scale != "auto":
        return _fit_on(rows, response, scale, *options)
    raw, log = (_fit_on(rows, response, name, *options) for name in ("raw", "log"))
    means = len(raw.estimates) if raw.method == "REML" else 0
    share = (len(rows) - means) / len(rows)
    jacobian = 2 * share * float(np.log(rows[response].to_numpy(float)).sum())
    return raw if raw.criterion <= log.criterion + jacobian else log


def _fit_on(
    rows: pd.DataFrame, response: str, scale: str, time: str, unit: str, inspection: str | None, link: str,
    level: float | None, wander: bool, curved: bool, method: str,
) -> PathFit:  # fmt: skip
    """Fit on one scale."""
    group, names = pd.factorize(rows[unit])
    y, t = rows[response].to_numpy(float), rows[time].to_numpy(float)
    straight, known = y, level
    if scale == "log":
        straight, known = np.log(y), None if level is None else math.log(level)
    if link == "auto":
        own = _own_slopes(straight, t, group, known)
        link = "log" if (own > 0).all() or (own < 0).all() else "identity"
    made: _Plain | _Wandering | CurvedPaths
    try:
        if curved:
            made = CurvedPaths(y, t, group, level, scale, method)
        elif link == "identity" and not wander and not inspection:
            made = _Plain(straight, t, group, known, method)
        else:
            shared = pd.factorize(rows[inspection])[0] if inspection else None
            made = _Wandering(straight, t, group, link, known, wander, shared)
    except np.linalg.LinAlgError:
        raise unfit(Wrong.VARIANCES) from None
    units = pd.DataFrame({"unit": list(names), "start": made.starts, "rate": made.rates})
    frames = {"estimates": made.estimates, "components": made.components, "units": units}
    frames["checks"] = _bend_check(straight, t, group, known, curved)
    return PathFit(frames, made.criterion, made.method, link, made, scale)


class _Plain:
    """Random intercept and slope, independent errors."""

    def __init__(
        self, y: Array, t: Array, group: NDArray[np.int64], level: float | None, method: str
    ) -> None:
        start = level is None
        self.start, self.level, self.method = start, level or 0.0, method
        design = self._design(t)
        fit: LinearMixedFit = fit_lmm(y - self.level, design, design, group, method)
        self.fit, self.criterion = fit, fit.criterion
        terms = ["start", "rate"] if start else ["rate"]
        self.estimates = pd.DataFrame(
            {"term": terms, "estimate": fit.fixed, "std_error": np.sqrt(np.diag(fit.fixed_cov))}
        )
        said = [(f"variance of {name}", fit.random_cov[i, i]) for i, name in enumerate(terms)]
        if start:
            said.append(("covariance of start and rate", fit.random_cov[0, 1]))
        said.append(("variance of a reading", fit.residual_var))
        self.components = pd.DataFrame(said, columns=["term", "estimate"])
        own = fit.fixed + fit.effects
        self.rates = own[:, -1]
        self.starts = own[:, 0] if start else np.full(len(own), self.level)

    def _design(self, t: Array) -> Array:
        return np.column_stack([np.ones(len(t)), t]) if self.start else t[:, None]

    def predict(self, which: NDArray[np.int64], t: Array) -> tuple[Array, Array, Array]:
        design = self._design(t)
        mean, error, sd = self.fit.predict(design, design, which)
        return self.level + mean, error, sd


class _Wandering:
    """Paths with wandering rates: each unit is a block of the tires' model; with inspections, all are one."""

    method = "REML"

    def __init__(
        self, y: Array, t: Array, group: NDArray[np.int64], link: str, known: float | None, wander: bool,
        shared: NDArray[np.int64] | None,
    ) -> None:  # fmt: skip
        start = known is None
        self.shared = shared
        self.zero = min(0.0, float(t.min()))  # wandering begins at the first time, or at 0
        t = t - self.zero
        count = int(group.max()) + 1
        span, last = float(np.ptp(y)) or 1.0, float(np.abs(t).max()) or 1.0
        slope = _common_slope(y, t, group)
        self.direction = 1.0 if slope >= 0 else -1.0
        # The curvature stands last in the tires' model; here it is held at 0.
        terms = ["log rate" if link == "log" else "rate", *(["start"] if start else []), "q"]
        p = len(terms)
        rate = abs(slope) or span / last
        self.level = float(np.mean(y - slope * t)) if known is None else known
        mean = np.array([math.log(rate) if link == "log" else rate, *([0.0] if start else []), 0.0])
        # A distribution so wide that it says nothing.
        wide = [1e-12 / (1.0 if link == "log" else rate) ** 2, *([1e-12 / span**2] if start else [])]
        precision = np.array([*wide, 1e12])
        unit_var = 0.04 if link == "log" else (0.2 * rate) ** 2
        scaled = 1.0 if link == "log" else rate**2
        guess = {
            "noise": (0.02 * span) ** 2, "scatter": scaled * 0.01 * last, "start": (0.02 * span) ** 2,
            "unit": unit_var, "visit": (0.02 * span) ** 2,
        }  # fmt: skip
        active = ["noise", "unit", *(["visit"] if shared is not None else []),
                  *(["scatter"] if wander else []), *(["start"] if start else [])]  # fmt: skip
        self.priors = Priors(
            mean, precision,
            np.array([math.log(guess[s]) if s in active else -np.inf for s in VARIANCES]),
            np.array([3.0 if s in active else 0.0 for s in VARIANCES]),
        )  # fmt: skip
        self.p, self.link, self.has_start = p, link, start
        self.y, self.t, self.group, self.count = y, t, group, count
        blocks, data = self._model(y, t, group, count, np.ones(len(y)), shared)
        self.estimate = self._likeliest(blocks, data)
        found, units, *_ = posterior_modes(
            blocks, data, self.priors, self.estimate.variances, rounds=6, robust=False
        )
        self.criterion = self.estimate.criterion
        self.starts = self.level + units.start
        self.rates = self.direction * (np.exp(units.rate) if link == "log" else units.rate)
        keep = range(p - 1)
        error = np.sqrt(np.diag(found.cov))
        shift = np.where([name == "start" for name in terms], self.level, 0.0)
        sign = np.where([name == "rate" for name in terms], self.direction, 1.0)
        self.estimates = pd.DataFrame(
            {
                "term": [terms[i] for i in keep],
                "estimate": (sign * found.mean + shift)[keep],
                "std_error": error[keep],
            }
        )
        label = {
            "noise": "variance of a reading", "unit": f"variance of {terms[0]}", "start": "variance of start",
            "scatter": "scatter per unit of time", "visit": "variance shared by an inspection",
        }  # fmt: skip
        self.components = pd.DataFrame(
            [(label[s], self.estimate.variances[VARIANCES.index(s)]) for s in active],
            columns=["term", "estimate"],
        )

    def _likeliest(self, blocks: Blocks, data: Readings) -> Estimate:
        """Variances from several first guesses: noise may look like wandering at first, or the other way."""
        begin = np.exp(self.priors.log_variance_mean)
        noise = np.isin(VARIANCES, ("noise", "visit"))
        converged = []
        for times in (1.0, 10.0, 0.1):
            near = begin * np.where(noise, times, 1 / times)
            try:
                one = estimate(blocks, data, self.priors, robust=False, near=near)
            except np.linalg.LinAlgError:
                continue
            if one.converged:
                converged.append(one)
        if not converged:
            raise unfit(Wrong.NOT_CONVERGED)
        return min(converged, key=lambda one: one.criterion)

    def _model(
        self, y: Array, t: Array, group: NDArray[np.int64], count: int, noise: Array,
        shared: NDArray[np.int64] | None,
    ) -> tuple[Blocks, Readings]:  # fmt: skip
        p = self.p
        fixed = np.full((count, ENTRIES), p)
        fixed[:, 0] = 0
        value = np.zeros((count, ENTRIES))
        value[:, 0] = 1.0
        order = np.lexsort((t, group))
        # Where none are shared visits have no variance, and each unit is a block.
        occasion = (group if shared is None else shared)[order]
        block = np.arange(count) if shared is None else np.zeros(count, int)
        number = int(block[-1]) + 1
        blocks = Blocks(
            group[order], occasion, block, fixed, value,
            np.full(count, 1 if self.has_start else p), np.zeros(count), np.full(number, p),
            np.ones(number), p - 1, p,
        )  # fmt: skip
        data = Readings(
            y[order], t[order], np.zeros(len(y)), noise[order], np.full(count, self.level), self.direction,
            self.link == "log",
        )  # fmt: skip
        return blocks, data

    def predict(self, which: NDArray[np.int64], t: Array) -> tuple[Array, Array, Array]:
        """Add rows that tell nothing, and see what all others predict for them."""
        t = t - self.zero
        new = np.flatnonzero(which < 0)
        group = which.copy()
        group[new] = self.count + np.arange(len(new))
        rows, extra = len(self.y), len(t)
        every = np.concatenate([self.group, group])
        times = np.concatenate([self.t, t])
        guess = self._smooth(group, t)
        y = np.concatenate([self.y, guess])
        noise = np.concatenate([np.ones(rows), np.full(extra, _BLIND)])
        shared = self.shared
        if shared is not None:  # each at an inspection of its own
            shared = np.concatenate([shared, shared.max() + 1 + np.arange(extra)])
        blocks, data = self._model(y, times, every, self.count + len(new), noise, shared)
        found, units, *_ = posterior_modes(
            blocks, data, self.priors, self.estimate.variances, rounds=6, robust=False
        )
        order = np.lexsort((times, every))
        away, variance = np.empty(rows + extra), np.empty(rows + extra)
        away[order], variance[order] = units.residual, units.residual_var
        noise, visit = self.estimate.variances[:2]
        path = np.maximum(variance[rows:] - _BLIND * noise - visit, 0.0)
        mean = guess - away[rows:]
        error = np.sqrt(path)
        if len(new):  # the average path's own error, without the spread between units
            rate_cov, q = found.cov, self.p
            slope = np.exp(found.mean[0]) if self.link == "log" else 1.0
            by = np.zeros((len(new), q))
            by[:, 0] = slope * t[new]
            if self.has_start:
                by[:, 1] = 1.0
            error[new] = np.sqrt(np.einsum("ij,jk,ik->i", by, rate_cov, by))
        return mean, error, np.sqrt(path + noise + visit)

    def _smooth(self, group: NDArray[np.int64], t: Array) -> Array:
        rate = np.append(self.rates, self.rates.mean())
        start = np.append(self.starts, self.starts.mean())
        at = np.minimum(group, self.count)
        return np.asarray(start[at] + rate[at] * t)


def _known_start(rows: pd.DataFrame, response: str, time: str) -> float | None:
    """The level that all readings at time 0 share, if there are two or more of them."""
    first = rows.loc[rows[time] == 0, response].to_numpy(float)
    return float(first[0]) if len(first) > 1 and np.ptp(first) == 0 else None


def _own_slopes(y: Array, t: Array, group: NDArray[np.int64], level: float | None) -> Array:
    """Each unit's own least-squares slope; units that have none are left out."""
    number = np.bincount(group)
    x, z = t, y - (level or 0.0)
    if level is None:
        x = t - (np.bincount(group, t) / number)[group]
    square = np.bincount(group, x * x)
    good = square > 0
    return np.asarray(np.bincount(group, x * z)[good] / square[good])


def _bend_check(
    y: Array, t: Array, group: NDArray[np.int64], level: float | None, curved: bool
) -> pd.DataFrame:
    """How many standard errors the units' mean bend is from none, each about its own line."""
    number = np.bincount(group)
    center = (np.bincount(group, t) / number)[group] if level is None else 0.0
    x, z = t - center, y - (level or 0.0)
    if level is None:
        z = z - (np.bincount(group, y) / number)[group]
    square = np.bincount(group, x * x)
    square = np.where(square > 0, square, 1.0)

    def apart(values: Array) -> Array:
        if level is None:
            values = values - (np.bincount(group, values) / number)[group]
        return np.asarray(values - x * (np.bincount(group, x * values) / square)[group])

    bend, left = apart(x**2), apart(z)
    total, count = float(bend @ bend), len(number)
    value = math.nan
    if total > 0 and count > 2:
        slope = float(bend @ left) / total
        rest = left - slope * bend
        score = np.bincount(group, bend * rest)  # by unit: a unit's own wandering is not the mean's
        plain = float(rest @ rest) / max(len(y) - 2 * count - 1, 1) * total
        value = abs(slope) * total / math.sqrt(max(float(score @ score) * count / (count - 1), plain, 1e-300))
    passed = curved or not value > 3.0
    advice = "" if passed else Advice.PATHS_BEND.value
    row = (Check.PATHS_STRAIGHT.value, value, 3.0, passed, advice)
    return pd.DataFrame([row], columns=["check", "value", "limit", "passed", "advice"])


def _common_slope(y: Array, t: Array, group: NDArray[np.int64]) -> float:
    number = np.bincount(group)
    x = t - (np.bincount(group, t) / number)[group]
    below = float(x @ x)
    if below > 0:
        return float(x @ y) / below
    return float(t @ y) / max(float(t @ t), 1e-300)
