"""The normal law: its distribution function and quantiles, in NumPy alone.

SciPy has both, and its import takes as long as that of pandas: a page that needs nothing else of it need not
wait. The approximations are those of Cephes (S. L. Moshier, Methods and Programs for Mathematical Functions,
1989; coefficients from memory), which SciPy uses too; ``tests/test_normal.py`` holds both to SciPy's numbers.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["ndtr", "ndtri"]

Array = NDArray[np.float64]

# Numerators and denominators, highest power first: erf below 1; erfc from 1 to 8, and beyond.
_T: Final = (
    9.604973739870516, 90.02601972038427, 2232.005345946843, 7003.325141128051, 55592.30130103949,
)  # fmt: skip
_U: Final = (
    1.0, 33.56171416475031, 521.3579497801527, 4594.323829709801, 22629.000061389095,
    49267.39426086359,
)  # fmt: skip
_P: Final = (
    2.461969814735305e-10, 0.5641895648310689, 7.463210564422699, 48.63719709856814,
    196.5208329560771, 526.4451949954773, 934.5285271719576, 1027.5518868951572, 557.5353353693994,
)  # fmt: skip
_Q: Final = (
    1.0, 13.228195115474499, 86.70721408859897, 354.9377788878199, 975.7085017432055,
    1823.9091668790973, 2246.3376081871097, 1656.6630919416134, 557.5353408177277,
)  # fmt: skip
_R: Final = (
    0.5641895835477551, 1.275366707599781, 5.019050422511805, 6.160210979930536, 7.4097426995044895,
    2.9788666537210022,
)  # fmt: skip
_S: Final = (
    1.0, 2.2605286322011726, 9.396035249380015, 12.048953980809666, 17.08144507475659,
    9.608968090632859, 3.369076451000815,
)  # fmt: skip
# Quantiles: the middle, the tails, the far tails.
_MIDDLE: Final = (
    (
        -59.96335010141079, 98.00107541859997, -56.67628574690703, 13.931260938727968,
        -1.2391658386738125,
    ),
    (
        1.0, 1.9544885833814176, 4.676279128988815, 86.36024213908905, -225.46268785411937,
        200.26021238006066, -82.03722561683334, 15.90562251262117, -1.1833162112133,
    ),
)  # fmt: skip
_TAIL: Final = (
    (
        4.0554489230596245, 31.525109459989388, 57.16281922464213, 44.08050738932008,
        14.684956192885803, 2.1866330685079025, -0.1402560791713545, -0.03504246268278482,
        -0.0008574567851546854,
    ),
    (
        1.0, 15.779988325646675, 45.39076351288792, 41.3172038254672, 15.04253856929075,
        2.504649462083094, -0.14218292285478779, -0.03808064076915783, -0.0009332594808954574,
    ),
)  # fmt: skip
_FAR: Final = (
    (
        3.2377489177694603, 6.915228890689842, 3.9388102529247444, 1.3330346081580755,
        0.20148538954917908, 0.012371663481782003, 0.00030158155350823543, 2.6580697468673755e-06,
        6.239745391849833e-09,
    ),
    (
        1.0, 6.02427039364742, 3.6798356385616087, 1.3770209948908132, 0.21623699359449663,
        0.013420400608854318, 0.00032801446468212774, 2.8924786474538068e-06, 6.790194080099813e-09,
    ),
)  # fmt: skip
_EDGE: Final = 0.1353352832366127  # exp(-2)
_ROOT_2PI: Final = 2.5066282746310007
_ROOT_HALF: Final = 0.7071067811865476


def ndtr(x: ArrayLike) -> Array:
    """Chance that a standard normal value is at most ``x``; in its shape, single where it is, NaN for NaN.

    Examples
    --------
    >>> ndtr([0.0, 1.959963984540054]).round(6)
    array([0.5  , 0.975])
    """
    given = np.asarray(x)
    value = given.astype(float)
    far = np.abs(value) * _ROOT_HALF
    with np.errstate(over="ignore", under="ignore", invalid="ignore"):
        inside = np.minimum(far, 1.0)
        near = inside * _ratio(inside**2, _T, _U)
        out = np.asarray(0.5 + 0.5 * np.copysign(near, value))
        beyond = ~(far < 1)
        if beyond.any():
            z = far[beyond]
            small, large = np.minimum(z, 8.0), np.minimum(np.maximum(z, 8.0), 40.0)
            tail = 0.5 * np.exp(-z * z) * np.where(z < 8, _ratio(small, _P, _Q), _ratio(large, _R, _S))
            out[beyond] = np.where(np.signbit(value[beyond]), tail, 1 - tail)
    return out.astype(given.dtype) if given.dtype == np.float32 else out


def ndtri(p: ArrayLike) -> Array:
    """Value that a standard normal one stays under with chance ``p``; infinite at 0 and 1, NaN beyond.

    Examples
    --------
    >>> ndtri([0.5, 0.975]).round(6)
    array([0.      , 1.959964])
    """
    value = np.asarray(p, dtype=float)
    upper = value > 1 - _EDGE
    low = np.where(upper, 1 - value, value)
    with np.errstate(divide="ignore", invalid="ignore"):
        off = low - 0.5
        middle = _ROOT_2PI * (off + off * off**2 * _ratio(off**2, *_MIDDLE))
        x = np.sqrt(-2 * np.log(low))
        z = 1 / x
        tail = x - np.log(x) / x - z * np.where(x < 8, _ratio(z, *_TAIL), _ratio(z, *_FAR))
        out = np.where(low > _EDGE, middle, np.where(upper, tail, -tail))
        out = np.where(low == 0, np.where(upper, np.inf, -np.inf), out)
    return np.asarray(np.where((value >= 0) & (value <= 1), out, np.nan))


def _ratio(x: Array, top: tuple[float, ...], bottom: tuple[float, ...]) -> Array:
    return np.asarray(_polynomial(x, top) / _polynomial(x, bottom))


def _polynomial(x: Array, terms: tuple[float, ...]) -> Array:
    out = np.full_like(x, terms[0])
    for term in terms[1:]:
        out *= x
        out += term
    return out
