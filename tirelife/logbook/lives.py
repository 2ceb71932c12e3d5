"""Which tire was where, worked out from depths and notes where nobody recorded it.

Between two visits tires stay, take turns by one of the usual patterns, or are renewed: one, two or all
four. Each
course of a vehicle's visits has a likelihood, from the depths that it foretells given wear so far and the
gauge's
error, and a prior, from what notes say. The most likely courses are kept from visit to visit (a beam), and
their
weights at the end are the probabilities of each move and each tire's start.

What is assumed: the shares of moves and renewals where nothing is noted, wear per distance within a factor
of two of
the usual until the vehicle's own visits tell it, and new tires at the sheet's own new depth, or 8.2 mm give
or take
1 mm (common practice, no source). That is said beside every move as its probability.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import Enum, StrEnum, auto
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tirelife.logbook.work import Work
from tirelife.positions import ROAD

__all__ = ["Course", "Lives", "Seen", "infer_lives"]


class Course(StrEnum):
    """What became of tires between two visits; their words begin with ``course-``."""

    STAY = "stay"
    STRAIGHT = "front-to-rear"
    FORWARD_CROSS = "forward-cross"
    REARWARD_CROSS = "rearward-cross"
    X = "x"
    SIDES = "side-to-side"
    FRONT_SIDES = "front-side-to-side"
    REAR_SIDES = "rear-side-to-side"
    FOUR_NEW = "four-new"
    FRONT_NEW = "front-new"
    REAR_NEW = "rear-new"
    FRONT_NEW_FRONTS_BACK = "front-new-fronts-to-rear"
    REAR_NEW_REARS_AHEAD = "rear-new-rears-to-front"
    LF_NEW = "lf-new"
    RF_NEW = "rf-new"
    LR_NEW = "lr-new"
    RR_NEW = "rr-new"


PATTERNS: dict[Course, tuple[int, int, int, int]] = {
    Course.STAY: (0, 1, 2, 3),
    Course.STRAIGHT: (2, 3, 0, 1),
    Course.FORWARD_CROSS: (3, 2, 0, 1),
    Course.REARWARD_CROSS: (2, 3, 1, 0),
    Course.X: (3, 2, 1, 0),
    Course.SIDES: (1, 0, 3, 2),
    Course.FRONT_SIDES: (1, 0, 2, 3),
    Course.REAR_SIDES: (0, 1, 3, 2),
    Course.FOUR_NEW: (-1, -1, -1, -1),
    Course.FRONT_NEW: (-1, -1, 2, 3),
    Course.REAR_NEW: (0, 1, -1, -1),
    Course.FRONT_NEW_FRONTS_BACK: (-1, -1, 0, 1),
    Course.REAR_NEW_REARS_AHEAD: (2, 3, -1, -1),
    Course.LF_NEW: (-1, 1, 2, 3),
    Course.RF_NEW: (0, -1, 2, 3),
    Course.LR_NEW: (0, 1, -1, 3),
    Course.RR_NEW: (0, 1, 2, -1),
}
"""Where the tire of each wheel came from; -1: it is new to the vehicle."""
_PRIOR = np.array(
    [0.78, 0.06, 0.04, 0.04, 0.02, 0.002, 0.002, 0.002, 0.03, 0.01, 0.01, 0.004, 0.004, *(0.003,) * 4]
)
_CROSSES = (Course.FORWARD_CROSS, Course.REARWARD_CROSS, Course.X)
_NAMES = list(PATTERNS)
_SOURCE = np.array([PATTERNS[name] for name in _NAMES])
_MOVES = np.array([name in (Course.STRAIGHT, *_CROSSES, Course.SIDES) for name in _NAMES])
_RENEWS = (_SOURCE < 0).any(axis=1)
_BEAM = 80
_FORGOTTEN = 0.25
_GONE = 1.0
"""A tire that may have been fitted later was off what was read in its place by so much; our assumption: by
far more, and it would have been seen. [mm]"""
_SLIPPED = 0.002  # of what else might have been, where a note says that the tires stayed: our choice
_PSEUDO = 15.0
"""Visits that the usual shares of moves and renewals count for beside a sheet's own."""
_USUAL = 6.35 / 72_420  # 8/32 in 45,000 miles: NHTSA FMVSS 138 analysis [mm/km]
_AXLE = np.array([1.2, 1.2, 0.8, 0.8])  # front over rear, common practice, no source


@dataclass
class Seen:
    """Visits of one vehicle, in order of date. ``depth_mm`` has shape (visits, 4), NaN where not read."""

    odometer_km: NDArray[np.float64]
    depth_mm: NDArray[np.float64]
    works: Sequence[Work]
    tire_id: list[tuple[str, ...]] = field(default_factory=list)
    product: list[tuple[str, ...]] = field(default_factory=list)


@dataclass
class Lives:
    """What came of it: for each visit the tire at each wheel (numbers from 0), and how sure that is.

    ``source[k]`` says where each wheel's tire was at the visit before, -1 if it was new, and
    ``probability[k]`` the posterior probability of that, wheel by wheel; visit 0 has 1.
    ``start_probability`` is
    that of the start of each tire now on the vehicle. ``others[k]`` are the other courses, likeliest first,
    ``share[k]`` the
    posterior of every pattern, and ``same[k]`` the probability that what was read at each wheel is of the
    very tire that is its tire's last in these courses; ``apart_mm[k]`` how far off that tire's own depth was
    if it is not. ``before_reading[k]`` says whether the work between two visits was done before the reading
    of the later one, or after that of the earlier. Where work was noted at the last visit, after its reading,
    there is one entry more.
    """

    tire: NDArray[np.intp]
    source: NDArray[np.intp]
    probability: NDArray[np.float64]
    start_probability: NDArray[np.float64]
    pattern: list[Course]
    others: list[list[tuple[Course, float]]]
    share: NDArray[np.float64]
    same: NDArray[np.float64]
    apart_mm: NDArray[np.float64]
    before_reading: NDArray[np.bool_]

    def chance(self, visit: int) -> float:
        """Posterior probability of the pattern by which tires came from the visit before."""
        return float(self.share[visit, _NAMES.index(self.pattern[visit])])


def infer_lives(vehicles: Sequence[Seen], new_mm: float | None = None, gauge_mm: float = 0.32) -> list[Lives]:
    """Infer the lives of the tires of some vehicles.

    Parameters
    ----------
    vehicles : sequence of Seen
    new_mm : float, optional
        Depth of new tires, where known. [mm]
    gauge_mm : float
        Standard deviation of a wheel's reading. [mm]

    Returns
    -------
    list of Lives
        One a vehicle. Whether work was done before the reading of its visit or after it is a habit of the
        shop: one for all vehicles, the likeliest. New tires may be read as they are put on where moves come
        after the reading.
    """
    noted = any(bool(work) for seen in vehicles for work in seen.works)
    best: tuple[float, list[Lives]] | None = None
    for habit in _habits(vehicles):
        new = (new_mm, 0.25) if new_mm is not None else _new_depth(vehicles)
        rates = [_USUAL * _AXLE for _ in vehicles]
        spread, shares = 0.55, _first_shares(noted)
        total, lives = 0.0, []
        shown = [_with_last_work(seen, habit) for seen in vehicles]
        works = [_works(seen, habit) for seen in shown]
        for _ in range(3):
            done = [
                _course(seen, work, shares, new, rate, spread, gauge_mm)
                for seen, work, rate in zip(shown, works, rates, strict=True)
            ]
            total, lives = sum(score for score, _ in done), [one for _, one in done]
            rates, spread = _rates(shown, lives), 0.3
            shares = _learned_shares(works, lives, noted)
            if new_mm is None:
                new = _learned_new(shown, lives, new)
        if best is None or total > best[0]:
            best = total, lives
    return best[1] if best is not None else []


class _Habit(Enum):
    """When the work that a visit's note tells was done."""

    BEFORE = auto()  # what is read is what the car leaves with
    AFTER = auto()  # what is read is what the car came with
    NEW_READ = auto()  # moves after the reading; new tires are read as they are put on

    def before(self, work: Work) -> bool:
        return self is _Habit.BEFORE or (self is _Habit.NEW_READ and work.renewed)


def _habits(vehicles: Sequence[Seen]) -> list[_Habit]:
    """Those that a sheet can tell apart: of one that notes no move, or nothing new, the first two say all."""
    works = [work for seen in vehicles for work in seen.works]
    both = any(work.renewed for work in works) and any(work.moved and not work.renewed for work in works)
    return list(_Habit) if both else [_Habit.BEFORE, _Habit.AFTER]


def _works(seen: Seen, habit: _Habit) -> list[tuple[Work, bool]]:
    """What was noted between each visit and the one before it, and whether it came before the later reading.

    Where a move noted at one visit and new tires noted at the next both fall between the two, the new tires
    are what is asked about, and a move may come with them.
    """
    out = [(Work(), True)]
    for earlier, later in pairwise(seen.works):
        if not habit.before(later):
            out.append((Work() if habit.before(earlier) else earlier, False))
        elif habit is _Habit.NEW_READ:
            out.append((replace(later, moved=later.moved or (earlier.moved and not earlier.renewed)), True))
        else:
            out.append((later, True))
    return out


def _with_last_work(seen: Seen, habit: _Habit) -> Seen:
    """Work noted at the last visit, after its reading, is done all the same: one visit more, unread."""
    if not seen.works or not seen.works[-1] or habit.before(seen.works[-1]):
        return seen
    blank = ("", "", "", "")
    return Seen(
        np.append(seen.odometer_km, seen.odometer_km[-1]),
        np.vstack([seen.depth_mm, np.full(4, np.nan)]),
        [*seen.works, Work()],
        [*seen.tire_id, blank] if seen.tire_id else [],
        [*seen.product, blank] if seen.product else [],
    )


def _first_shares(noted: bool) -> dict[bool, NDArray[np.float64]]:
    """Shares of the patterns: where work is noted (True), and where nothing is (False)."""
    silent = _PRIOR.copy()
    if noted:  # a shop that notes its work forgets some
        silent[1:] *= _FORGOTTEN
    return {True: _PRIOR / _PRIOR.sum(), False: silent / silent.sum()}


def _learned_shares(
    works: Sequence[list[tuple[Work, bool]]], lives: list[Lives], noted: bool
) -> dict[bool, NDArray[np.float64]]:
    """Shares of the patterns in this sheet: a shop rotates its own way; few visits shrink to the usual."""
    out = _first_shares(noted)
    counts = {True: np.zeros(len(_NAMES)), False: np.zeros(len(_NAMES))}
    for work, life in zip(works, lives, strict=True):
        for k in range(1, len(life.source)):
            counts[bool(work[k][0])] += life.share[k]
    return {said: (out[said] * _PSEUDO + n) / (_PSEUDO + n.sum()) for said, n in counts.items()}


def _new_depth(vehicles: Sequence[Seen]) -> tuple[float, float]:
    deepest = [np.nanmax(s.depth_mm) for s in vehicles if np.isfinite(s.depth_mm).any()]
    if not deepest:
        return 8.2, 1.0
    # The deepest tires ever read are not far from new where there are many.
    top = float(np.quantile(deepest, 0.9))
    return (0.5 * (8.2 + top), 0.9) if top > 6.5 else (8.2, 1.0)


def _learned_new(
    vehicles: Sequence[Seen], lives: list[Lives], prior: tuple[float, float]
) -> tuple[float, float]:
    found = []
    for seen, life in zip(vehicles, lives, strict=True):
        for k in range(1, len(life.source)):
            for w in range(4):
                depth = seen.depth_mm[k, w]
                if life.source[k, w] < 0 and life.probability[k, w] > 0.8 and np.isfinite(depth):
                    run = 0.0 if life.before_reading[k] else seen.odometer_km[k] - seen.odometer_km[k - 1]
                    found.append(depth + _USUAL * run)
    if not found:
        return prior
    mean, n = float(np.median(found)), len(found)
    weight = n / (n + 2.0)
    return weight * mean + (1 - weight) * prior[0], max(0.35, float(np.std(found))) if n > 3 else 0.7


def _rates(vehicles: Sequence[Seen], lives: list[Lives]) -> list[NDArray[np.float64]]:
    """Wear per distance on each wheel, from tires that stayed; few data are shrunk to the fleet. [mm/km]"""
    wear, run = np.zeros((len(vehicles), 2)), np.zeros((len(vehicles), 2))
    for i, (seen, life) in enumerate(zip(vehicles, lives, strict=True)):
        for k in range(1, len(life.source)):
            km = seen.odometer_km[k] - seen.odometer_km[k - 1]
            for w in range(4):
                s = life.source[k, w]
                if s < 0 or life.probability[k, w] < 0.6:
                    continue
                lost = seen.depth_mm[k - 1, s] - seen.depth_mm[k, w]
                if np.isfinite(lost) and km > 0 and lost > -1.2:
                    axle = (s if life.before_reading[k] else w) // 2
                    wear[i, axle] += lost
                    run[i, axle] += km
    usual = _USUAL * _AXLE[[0, 2]]
    pseudo = 20_000.0
    fleet = (wear.sum(0) + usual * pseudo) / (run.sum(0) + pseudo)
    out = (np.maximum(wear, 0) + fleet * pseudo) / (run + pseudo)
    return [np.repeat(np.maximum(row, 0.25 * _USUAL), 2) for row in out]


def _log_prior(work: Work, shares: dict[bool, NDArray[np.float64]]) -> NDArray[np.float64]:
    """Log prior of each pattern, given what a note says."""
    prior = shares[bool(work)]
    if work.stayed:
        out = _SLIPPED * prior
        out[0] = 1 - out[1:].sum()
        return np.asarray(np.log(out))
    if not work:
        return np.asarray(np.log(prior))
    if work.renewed:
        fits = _RENEWS.copy()
        if work.wheels:
            new = np.array([wheel in work.wheels for wheel in ROAD])
            fits = np.array([bool(((source < 0) == new).all()) for source in _SOURCE])
        elif work.count:
            fits = (_SOURCE < 0).sum(axis=1) == work.count
        if not fits.any():
            fits = _RENEWS
        out = np.where(fits, _PRIOR, 0.03 * _PRIOR * ~fits)
        out[0] = 0.03 * out[fits].sum()
        if work.moved:
            out += 0.05 * out[fits].sum() * _MOVES
        return np.asarray(np.log(out / out.sum()))
    out = np.where(_MOVES, prior, 0.05 * _PRIOR)
    if work.crossed:
        out *= np.array([8.0 if name in _CROSSES else 1.0 for name in _NAMES])
    if work.straight:
        out *= np.array([30.0 if name == Course.STRAIGHT else 1.0 for name in _NAMES])
    out[0] = 0.04 * out[_MOVES].sum()
    return np.asarray(np.log(out / out.sum()))


def _course(
    seen: Seen,
    works: list[tuple[Work, bool]],
    shares: dict[bool, NDArray[np.float64]],
    new: tuple[float, float],
    rate: NDArray[np.float64],
    spread: float,
    gauge: float,
) -> tuple[float, Lives]:
    """The most likely courses of one vehicle's visits; the log likelihood of all kept, and the best."""
    n = len(seen.odometer_km)
    mean, var = np.full((1, 4), np.nan), np.full((1, 4), np.nan)
    first = seen.depth_mm[0]
    mean[0], var[0] = np.where(np.isfinite(first), first, 6.0), np.where(np.isfinite(first), gauge**2, 4.0)
    log_w = np.zeros(1)
    back: list[NDArray[np.intp]] = []
    acts: list[NDArray[np.intp]] = []
    shift = 0.0
    for k in range(1, n):
        km = max(float(seen.odometer_km[k] - seen.odometer_km[k - 1]), 0.0)
        work, before = works[k]
        prior = _log_prior(work, shares) + _facts(seen, k)
        source = np.where(_SOURCE < 0, 0, _SOURCE)
        fresh = _SOURCE < 0
        lost = rate * km
        wear = lost[source] if before else np.broadcast_to(lost, source.shape)
        m = np.where(fresh, new[0], mean[:, source])
        v = np.where(fresh, new[1] ** 2, var[:, source])
        worn = np.where(fresh, 0.0, wear) if before else np.broadcast_to(wear, fresh.shape)
        m = m - worn
        v = v + (spread * worn) ** 2 + 0.01
        y = seen.depth_mm[k]
        read = np.isfinite(y)
        y = np.where(read, y, 0.0)
        s2 = v + gauge**2
        score = -0.5 * ((y - m) ** 2 / s2 + np.log(2 * np.pi * s2))
        worn_in = np.where(fresh, 0.12, 0.015) / 8.0  # a part-worn tire put on; a slip of the reader
        score = np.logaddexp(score + np.log(np.where(fresh, 0.88, 0.985)), np.log(worn_in))
        score = np.where(read, score, 0.0)
        total = log_w[:, None] + prior[None, :] + score.sum(axis=2)
        flat = total.ravel()
        keep = np.argsort(-flat, kind="stable")[:_BEAM]
        keep = keep[flat[keep] > flat[keep[0]] - 18]
        parent, act = keep // len(_NAMES), keep % len(_NAMES)
        m2, v2 = m[parent, act], v[parent, act]
        gain = np.where(read, v2 / (v2 + gauge**2), 0.0)
        residual = np.where(read, y - m2, 0.0)
        slip = np.abs(residual) > 4 * np.sqrt(v2 + gauge**2)
        gain = np.where(slip & ~fresh[act], 0.3 * gain, gain)
        mean, var = m2 + np.where(slip & fresh[act], 1.0, gain) * residual, v2 * (1 - gain)
        back.append(parent)
        acts.append(act)
        log_w = flat[keep]
        top = float(log_w[0])
        shift += top
        log_w = log_w - top
    weight = np.exp(log_w)
    total_log = shift + float(np.log(weight.sum()))
    weight /= weight.sum()
    when = np.array([before for _, before in works])
    return total_log, _told(n, weight, back, acts, when, seen.depth_mm)


def _facts(seen: Seen, k: int) -> NDArray[np.float64]:
    """What recorded tire ids and product names say of each pattern: ids decide, names are evidence."""
    out = np.zeros(len(_NAMES))
    if seen.tire_id and any(seen.tire_id[k]):
        held, now = seen.tire_id[k - 1], seen.tire_id[k]
        for i, source in enumerate(_SOURCE):
            for w in range(4):
                if not now[w]:
                    continue
                s = int(source[w])
                if (s >= 0 and held[s] and held[s] != now[w]) or (s < 0 and now[w] in held):
                    out[i] -= 60
    if seen.product and any(seen.product[k]):
        held, now = seen.product[k - 1], seen.product[k]
        for i, source in enumerate(_SOURCE):
            for w in range(4):
                s = int(source[w])
                if s >= 0 and now[w] and held[s] and held[s].casefold() != now[w].casefold():
                    out[i] -= 2.5
    return out


def _told(
    n: int,
    weight: NDArray[np.float64],
    back: list[NDArray[np.intp]],
    acts: list[NDArray[np.intp]],
    when: NDArray[np.bool_],
    depth: NDArray[np.float64],
) -> Lives:
    count = len(weight)
    courses = np.zeros((count, n), dtype=np.intp)
    at = np.arange(count)
    for k in range(n - 1, 0, -1):
        courses[:, k] = acts[k - 1][at]
        at = back[k - 1][at]
    source = np.tile(np.arange(4), (n, 1))
    source[1:] = _SOURCE[courses[0, 1:]]
    probability = np.ones((n, 4))
    others: list[list[tuple[Course, float]]] = [[]]
    shares = np.zeros((n, len(_NAMES)))
    tire = np.zeros((n, 4), dtype=np.intp)
    tire[0] = np.arange(4)
    named = 4
    for k in range(1, n):
        mine = _SOURCE[courses[:, k]]
        probability[k] = (weight[:, None] * (mine == source[k])).sum(axis=0)
        share = np.bincount(courses[:, k], weights=weight, minlength=len(_NAMES))
        shares[k] = share
        order = np.argsort(-share)
        others.append([(_NAMES[i], float(share[i])) for i in order if share[i] > 0.03 and i != courses[0, k]])
        for w in range(4):
            if source[k, w] < 0:
                tire[k, w] = named
                named += 1
            else:
                tire[k, w] = tire[k - 1, source[k, w]]
    begun = np.zeros((count, n, 4), dtype=np.intp)
    for k in range(1, n):
        mine = _SOURCE[courses[:, k]]
        carried = np.take_along_axis(begun[:, k - 1], np.where(mine < 0, 0, mine), axis=1)
        begun[:, k] = np.where(mine < 0, k, carried)
    start = (weight[:, None] * (begun[:, -1] == begun[0, -1])).sum(axis=0)
    names = [Course.STAY, *(_NAMES[i] for i in courses[0, 1:])]
    same, apart = _same(tire, courses, weight, depth)
    return Lives(tire, source, probability, start, names, others, shares, same, apart, when)


def _same(
    tire: NDArray[np.intp], courses: NDArray[np.intp], weight: NDArray[np.float64], depth: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Share of the courses in which a tire, followed back from its last visit, was where the best has it; and
    by how much what the others read in its place differs (root mean square). [mm]
    """
    out, apart = np.ones(tire.shape), np.zeros(tire.shape)
    for one in np.unique(tire):
        visit, wheel = np.nonzero(tire == one)
        at = np.full(len(weight), wheel[-1])
        for k in range(visit[-1], visit[0], -1):
            at = np.where(at < 0, -1, _SOURCE[courses[:, k], at])
            mine = wheel[k - 1 - visit[0]]
            other = weight * (at != mine)
            gap = np.where(at < 0, np.nan, depth[k - 1, at] - depth[k - 1, mine])
            gap = np.where(np.isfinite(gap), gap, _GONE)
            out[k - 1, mine] = weight[at == mine].sum()
            apart[k - 1, mine] = np.sqrt((other * gap**2).sum() / max(other.sum(), 1e-12))
    return out, apart
