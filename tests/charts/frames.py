"""Small frames by hand, for drawing only: nothing here is evidence of anything."""

import pandas as pd

AS_OF = pd.Timestamp("2026-09-30")
WHEELS = {"LF": 6.0, "RF": 5.5, "LR": 7.0, "RR": 6.8}
NAMES = {"LF": "Left front", "RF": "Right front", "LR": "Left rear", "RR": "Right rear"}


def depths():
    rows = []
    for position, depth in WHEELS.items():
        for groove, less in zip(
            ["outer", "outer_mid", "center", "inner_mid", "inner"], [0.9, 0.2, 0, 0.1, 0.4], strict=True
        ):
            rows.append(
                {
                    "position": position,
                    "groove": groove,
                    "depth_mm": (depth - less) * 0.79375,
                    "new_depth_mm": 7.9375,
                }
            )
    return pd.DataFrame(rows)


def windows():
    rows = []
    for i, label in enumerate([*NAMES.values(), "The set"]):
        days = [200 + 40 * i, 240 + 45 * i, 290 + 50 * i, 350 + 55 * i, 420 + 60 * i]
        row = {
            f"date_p{p}": AS_OF + pd.Timedelta(days=d)
            for p, d in zip((10, 25, 50, 75, 90), days, strict=True)
        }
        rows.append({"label": label, "said": "late March to mid June 2027", **row})
    return pd.DataFrame(rows)


def causes():
    shares = {
        "Rolling and road": 0.42,
        "Driving and braking": 0.24,
        "Cornering": 0.22,
        "Low pressure": 0.08,
        "Alignment": 0.04,
    }
    return pd.DataFrame(
        [{"label": n, "cause": c, "share": s} for n in ("Front", "Rear") for c, s in shares.items()]
    )


def changes():
    return pd.DataFrame(
        {
            "change": [
                "Placard pressure all year",
                "Half the hard turns",
                "Half the hard stops",
                "Rotate every 6,000 miles",
            ],
            "before_km": [18000.0] * 4,
            "after_km": [19400.0, 20600.0, 18900.0, 21400.0],
            "after_low_km": [19000.0, 19400.0, 18500.0, 21400.0],
            "after_high_km": [19800.0, 22000.0, 19300.0, 21400.0],
            "said": [
                "+900 miles, 1 month",
                "+1,600 miles, 2 months",
                "+600 miles, 3 weeks",
                "+2,100 miles, 2 months",
            ],
        }
    )


def readings():
    return pd.DataFrame(
        [
            {
                "label": name,
                "odometer_km": 20000 + 8000 * i,
                "date": AS_OF - pd.Timedelta(days=180 * (4 - i)),
                "depth_mm": 7.9 - 0.75 * i,
            }
            for name in NAMES.values()
            for i in range(5)
        ]
    )


def band():
    rows = []
    for name in NAMES.values():
        for i in range(12):
            mid = 4.9 - 0.35 * i
            half = 0.05 + 0.09 * i
            rows.append(
                {
                    "label": name,
                    "odometer_km": 52000 + 4000 * i,
                    "date": AS_OF + pd.Timedelta(days=90 * i),
                    "depth_p10_mm": mid - 1.9 * half,
                    "depth_p25_mm": mid - half,
                    "depth_p50_mm": mid,
                    "depth_p75_mm": mid + half,
                    "depth_p90_mm": mid + 1.9 * half,
                }
            )
    return pd.DataFrame(rows)
