"""Readings round one tire: nothing but the gauge, cupping, diagonal wear, or one flat spot?

Cups dip at one place round the tire in all grooves that they touch, or at places that neither line up nor
step. Diagonal wear dips in one groove here and in the next groove a little further on: the same ups and
downs, sheared. A gauge that reads every groove at marked spots can tell the two apart, and one that reads a
single groove or spot cannot.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import GROOVES
from tirelife.tread import patterns as p

__all__ = ["read_round", "spot_likelihoods"]

_NOISE: Final = ((0.8, 0.25), (1.0, 0.5), (1.35, 0.25))
"""Factors by which the gauge's spread may differ from what was assumed, and their chances."""
_LOCAL_MM: Final = 0.06
"""Unevenness from place to place of a tread that wears evenly [mm]; our assumption."""
_WIDE: Final = 0.3
_REACH: Final = 0.6
"""Share of flat spots that reach two spots read, and how deep they are at the second; our assumption."""
_CUPS: Final = (
    ((1.0, 1.0, 1.0, 1.0, 1.0), 0.3),
    ((1.0, 0.6, 0.0, 0.0, 0.0), 0.15),
    ((0.0, 0.0, 0.0, 0.6, 1.0), 0.15),
    ((1.0, 0.6, 0.0, 0.6, 1.0), 0.15),
    ((1.0, 0.8, 0.6, 0.4, 0.2), 0.1),
    ((0.2, 0.4, 0.6, 0.8, 1.0), 0.1),
    ((0.6, 0.8, 1.0, 0.8, 0.6), 0.05),
)
"""Where cups are, outer to inner, and how often: across the tread, at one edge, at both, less and less
from one edge to the other, deepest in the middle; our assumption."""

_LOOSE: Final = 0.1
_ACROSS: Final = 0.4
"""Share of cups whose places in one groove and the next do not line up, nor step steadily, and how far each
reaches across the tread, as a share of the half width; our assumption."""

_SHEARS: Final = (0.25, 0.4, 0.6)
"""How far diagonal wear runs round the tire from the center to an edge groove [rad]: 75 mm at 25 to 45
degrees to the direction of travel on a radius of 0.32 m, and a little more; our assumption."""
_WAVES: Final = (2, 3, 4, 5, 6, 7, 8)
_PATCH: Final = (0.5, 0.9)
_FADE: Final = 1.2
"""Patches here and there, by their length round the tire [rad], or so many waves round it, which may fade."""
_REGULAR: Final = 0.5
"""Share of cups that come at a regular distance round the tire; our assumption."""


def spot_likelihoods(spots: pd.DataFrame | None, reading_sd_mm: float) -> dict[str, float]:
    """Likelihood of the depths round a tire where nothing, cupping or a flat spot is at work.

    Parameters
    ----------
    spots : DataFrame or None
        Depths by spot and groove, from :func:`tirelife.tread.profile.spot_table`. [mm]
    reading_sd_mm : float
        Spread of single readings.

    Returns
    -------
    dict
        none, cupping, diagonal_wear, flat_spot: relative likelihoods, the largest 1; all 1 where there is
        nothing to go by.

    Notes
    -----
    Groove means are free. With spots s and grooves g, the residual is gauge error alone; gauge error plus
    a common departure of each spot, normal with a spread of :data:`~tirelife.tread.patterns.AROUND_MM`, at
    random or in waves, across the tread or at its edges, or departures that reach a little way across the
    tread; or gauge error plus waves or patches that run on round the tire from groove to groove; or gauge
    error plus one spot that is lower by one of :data:`~tirelife.tread.patterns.FLAT_MM`. Each but the
    first may have been missed by the spots that were read (:data:`~tirelife.tread.patterns.MISSED`).
    """
    return read_round(spots, reading_sd_mm)[0]


def read_round(
    spots: pd.DataFrame | None, reading_sd_mm: float
) -> tuple[dict[str, float], NDArray[np.float64]]:
    """Likelihoods of :func:`spot_likelihoods`, and how deep cups would be, by groove.

    Returns
    -------
    likelihoods : dict
    dips_mm : ndarray, shape (5,)
        Spread round the tire that cups have in each groove, from outer to inner, if there are cups: its mean
        over all that cups may look like. 0 where there is nothing to go by. [mm]
    """
    if spots is None or len(spots) < 2:
        return {"none": 1.0, "cupping": 1.0, "diagonal_wear": 1.0, "flat_spot": 1.0}, np.zeros(5)
    depth = spots.to_numpy(float)
    left = depth - depth.mean(axis=0)
    at = [GROOVES.index(name) for name in spots.columns]
    parts: dict[str, list[tuple[float, float]]] = {
        name: [] for name in ("none", "cupping", "diagonal_wear", "flat_spot")
    }
    dips: list[NDArray[np.float64]] = []
    numbers = tuple(int(number) for number in spots.index)
    apart = (_contrasts(len(left)) @ left).ravel()
    waves = {
        name: (found, np.square(found.vectors @ apart))
        for name, found in _patterns(numbers, tuple(at)).items()
    }
    for factor, chance in _NOISE:
        var = (factor * reading_sd_mm) ** 2 + _LOCAL_MM**2
        parts["none"].append((chance, _scatter(left, var, np.zeros(len(at)))))
        for where, share in _CUPS:
            load = np.array(where)[at]
            for around in p.AROUND_MM:
                weight = chance * share * (1 - _REGULAR) / len(p.AROUND_MM)
                parts["cupping"].append((weight, _scatter(left, var, around * load)))
                dips.append(around * np.array(where))
        for name, (form, along) in waves.items():
            weights = chance * form.shares * (_REGULAR if name == "cupping" else 1.0) / len(p.AROUND_MM)
            for around in p.AROUND_MM:
                total = var + around**2 * form.roots
                logs = -0.5 * (np.log(total) + along / total).sum(axis=1)
                parts[name] += list(zip(weights.tolist(), logs.tolist(), strict=True))
                if name == "cupping":
                    dips += list(around * form.depths)
        for shapes, share in _flats(len(left)):
            logs = _lowered(left, var, p.FLAT_MM, shapes)
            parts["flat_spot"] += [(chance * share / logs.size, float(log)) for log in logs.ravel()]
    top = max(log for terms in parts.values() for _, log in terms)
    found = {name: sum(w * float(np.exp(log - top)) for w, log in terms) for name, terms in parts.items()}
    weight, logs = np.array(parts["cupping"]).T
    chances = weight * np.exp(logs - logs.max())
    deep = chances @ np.array(dips) / chances.sum()
    for name, missed in p.MISSED.items():
        found[name] = (1 - missed) * found[name] + missed * found["none"]
    largest = max(found.values())
    return {name: value / largest for name, value in found.items()}, deep


def _scatter(left: NDArray[np.float64], var: float, load: NDArray[np.float64]) -> float:
    """Log likelihood of residuals with covariance var I + load load' between the grooves of each spot."""
    free = len(left) - 1
    size = float(load @ load)
    total = float(np.square(left).sum())
    along = float(np.square(left @ load).sum())
    spread = along / (var * (var + size))
    scale = free * (left.shape[1] * np.log(var) + np.log1p(size / var))
    return float(-0.5 * (scale + total / var - spread))


def _contrasts(spots: int) -> NDArray[np.float64]:
    """Orthonormal contrasts between spots: what is left once the mean is free."""
    basis = np.linalg.qr(np.column_stack([np.ones(spots), np.eye(spots)[:, : spots - 1]]))[0]
    return np.asarray(basis[:, 1:].T)


class _Patterns(NamedTuple):
    """Waves and patches round the tire of 1 mm: of each its share, how deep it is in each of five grooves,
    its variances, and their directions (rows) in the contrasts between spots.
    """

    shares: NDArray[np.float64]
    depths: NDArray[np.float64]
    roots: NDArray[np.float64]
    vectors: NDArray[np.float64]


@lru_cache(maxsize=64)
def _patterns(numbers: tuple[int, ...], at: tuple[int, ...]) -> dict[str, _Patterns]:
    """Upright patterns, and those that do not line up (cupping), and slanted ones (diagonal wear)."""
    turn = 2 * np.pi * (np.array(numbers) - 1) / max(max(numbers), len(numbers))
    x = np.array([1.0, 0.5, 0.0, -0.5, -1.0])[list(at)]
    angle, across = (a.ravel() for a in np.meshgrid(turn, x, indexing="ij"))
    free = np.kron(_contrasts(len(numbers)), np.eye(len(at)))
    # Of each form: how far it shears, how deep it is in each groove, how alike grooves are, its share.
    alike = np.ones((len(angle), len(angle)))
    loose = np.exp(-0.5 * ((across[:, None] - across[None, :]) / _ACROSS) ** 2)
    level, even = np.ones(len(GROOVES)), 1 / (2 * len(_SHEARS))
    kinds = {
        "cupping": [
            *((0.0, np.array(where), alike, share * (1 - _LOOSE)) for where, share in _CUPS),
            (0.0, level, loose, _LOOSE),
        ],
        "diagonal_wear": [(s * sign, level, alike, even) for s in _SHEARS for sign in (1, -1)],
    }
    out = {}
    for name, forms in kinds.items():
        found = _Patterns(*([] for _ in _Patterns._fields))  # type: ignore[arg-type]
        for shear, load, together, share in forms:
            place = angle + shear * across
            gap = place[:, None] - place[None, :]
            near = [np.exp(-2 * np.sin(gap / 2) ** 2 / length**2) for length in (*_PATCH, _FADE)]
            kernels = near[:-1]
            if together is alike:  # what does not line up comes in patches, not in waves
                kernels += [np.cos(n * gap) for n in _WAVES]
                kernels += [np.cos(n * gap) * near[-1] for n in _WAVES]
            deep = np.tile(load[list(at)], len(numbers))
            for kernel in kernels:
                root, vector = np.linalg.eigh(free @ (kernel * together * np.outer(deep, deep)) @ free.T)
                parts = (share / len(kernels), load, np.maximum(root, 0.0), vector.T)
                for values, part in zip(found, parts, strict=True):
                    values.append(part)  # type: ignore[attr-defined]
        out[name] = _Patterns(*(np.array(values) for values in found))
    return out


def _flats(spots: int) -> list[tuple[NDArray[np.float64], float]]:
    """Where a flat spot may lie: at one spot that was read, or reaching the next one; and how often."""
    alone = np.eye(spots)
    if spots < 5:
        return [(alone, 1.0)]
    wide = [alone + _REACH * np.roll(alone, side, axis=1) for side in (-1, 1)]
    return [(alone, 1 - _WIDE), (np.concatenate(wide), _WIDE)]


def _lowered(
    left: NDArray[np.float64], var: float, low: NDArray[np.float64], shapes: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Log likelihood of residuals where a shape round the tire (rows) is lower by some depths (columns)."""
    spots, grooves = left.shape
    away = shapes - shapes.mean(axis=1, keepdims=True)
    total = np.square(left).sum() + 2 * np.outer(away @ left.sum(axis=1), low)
    total = total + grooves * np.outer(np.square(away).sum(axis=1), low**2)
    return np.asarray(-0.5 * ((spots - 1) * grooves * np.log(var) + total / var))
