"""Probabilities of the labelled cases, and how well they hold."""

import numpy as np
import pandas as pd

from tests.tread.cases import SHARES, WIDTH
from tirelife.tread import Finding, Wheel, weigh_wheels
from tirelife.tread.gauge import reading_variances


def weigh(case, **options):
    """Ask the model about one case, with what a user would know of the gauge."""
    single, shared = reading_variances(case.step_mm, 0.2, float("nan"))
    wheels = {}
    for position, read in case.readings.items():
        depth, variance = np.full(5, np.nan), np.full(5, np.nan)
        at = [list(WIDTH).index(g) for g in case.grooves]
        depth[at], variance[at] = read.mean(axis=0), shared + single / len(read)
        spots = (
            pd.DataFrame(read, columns=case.grooves, index=range(1, len(read) + 1)) if len(read) > 1 else None
        )
        wheels[position] = Wheel(
            depth,
            variance,
            case.new_mm - np.nanmean(depth),
            spots,
            float(np.sqrt(single)),
            case.ratio.get(position, np.nan),
            load_ratio=case.load.get(position, np.nan),
        )
    findings = [Finding(*f) for f in case.findings]
    return weigh_wheels(wheels, case.drive, cornering=case.turns, findings=findings, **options)


def score(cases):
    """One row a wheel and cause: probability stated, and whether it was so."""
    rows = []
    for number, case in enumerate(cases):
        table = weigh(case).groupby(["position", "cause"])["probability"].sum()
        for (position, cause), p in table.items():
            rows.append((number, position, cause, p, case.truth[position] == cause))
    return pd.DataFrame(rows, columns=["case", "position", "cause", "probability", "so"])


def reliability(scored, edges=(0, 0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95, 1.0)):
    """Stated probability against how often it was so, by bin."""
    at = pd.cut(scored["probability"], edges, include_lowest=True)
    table = scored.groupby(at, observed=True).agg(
        count=("so", "size"), stated=("probability", "mean"), found=("so", "mean")
    )
    return table.reset_index(names="bin")


def summary(scored):
    """Top-1 accuracy, Brier score and its reference, expected calibration error of the likeliest cause."""
    wheel = ["case", "position"]
    top = scored.loc[scored.groupby(wheel)["probability"].idxmax()]
    table = reliability(top)
    gap = (table["stated"] - table["found"]).abs()
    base = scored["cause"].map(scored.groupby("cause")["so"].mean())
    return {
        "top-1 accuracy": float(top["so"].mean()),
        "expected calibration error": float((gap * table["count"]).sum() / table["count"].sum()),
        "Brier score": float(
            ((scored["probability"] - scored["so"]) ** 2)
            .groupby([scored["case"], scored["position"]])
            .sum()
            .mean()
        ),
        "Brier score of base rates": float(
            ((base - scored["so"]) ** 2).groupby([scored["case"], scored["position"]]).sum().mean()
        ),
        "stated": float(top["probability"].mean()),
        "causes": len(SHARES),
    }
