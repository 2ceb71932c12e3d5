"""Plain analysis of variance, raw beside adjusted, for designed comparisons."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from tirelife.errors import misused
from tirelife.groups.wrong import Wrong

__all__ = ["adjusted_anova"]


def adjusted_anova(frame: pd.DataFrame, response: str, factors: Sequence[str]) -> pd.DataFrame:
    """Analysis of variance of designed trials, each factor in turn and each adjusted for the others.

    Parameters
    ----------
    frame : DataFrame
        One row a measurement.
    response : str
        Column measured.
    factors : sequence of str
        Columns of kinds, such as car, position and tire line; no interactions.

    Returns
    -------
    DataFrame
        Indexed by factor, then ``residual``: df, ss, f, p (in the order given, so the first is not
        adjusted) and adjusted_ss, adjusted_f, adjusted_p (each after all others).

    Raises
    ------
    InputError
        If a column is missing, a value unknown, or nothing is left to judge by.

    Notes
    -----
    Sums of squares of type I and II by statsmodels. In a balanced design the two agree.
    """
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    missing = [c for c in (response, *factors) if c not in frame]
    if missing:
        raise misused(Wrong.NO_COLUMN, missing=", ".join(missing), known=", ".join(map(str, frame.columns)))
    if frame[[response, *factors]].isna().to_numpy().any():
        raise misused(Wrong.BLANKS)
    data = pd.DataFrame({f"f{i}": frame[c].astype(str) for i, c in enumerate(factors)})
    data["y"] = frame[response].to_numpy(float)
    fit = ols("y ~ " + " + ".join(f"C(f{i})" for i in range(len(factors))), data).fit()
    if fit.df_resid < 1:
        raise misused(Wrong.NOTHING_LEFT)
    first, second = anova_lm(fit, typ=1), anova_lm(fit, typ=2)
    rows = {f"C(f{i})": name for i, name in enumerate(factors)} | {"Residual": "residual"}
    out = pd.DataFrame(
        {
            "df": first["df"],
            "ss": first["sum_sq"],
            "f": first["F"],
            "p": first["PR(>F)"],
            "adjusted_ss": second["sum_sq"],
            "adjusted_f": second["F"],
            "adjusted_p": second["PR(>F)"],
        }
    ).rename(index=rows)
    return out.rename_axis("factor")
