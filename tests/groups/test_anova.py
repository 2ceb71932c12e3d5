import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.groups import adjusted_anova


def long(rows, names):
    return pd.DataFrame(rows, columns=names)


def brands_by_cars():
    table = [[10, 9, 8, 6], [8, 8, 7, 5], [7, 7, 5, 3], [7, 5, 3, 3]]
    return long(
        [(car, brand, table[car][i]) for car in range(4) for i, brand in enumerate("ABCD")],
        ["car", "brand", "wear"],
    )


def test_four_brands_on_four_cars():
    # Ugarte, Militino and Arnholt, example 11.8: SS brand 33.1875, car 32.6875, error 3.5625; F(3, 9) 27.947 and
    # 27.526 (facts/standards-and-trade.md 9.3, check value 34).
    out = adjusted_anova(brands_by_cars(), "wear", ["brand", "car"])
    assert out["adjusted_f"][:2].tolist() == pytest.approx([27.947, 27.526], abs=5e-4)
    assert out["f"][:2].tolist() == pytest.approx([27.947, 27.526], abs=5e-4)
    assert out["ss"].tolist() == pytest.approx([33.1875, 32.6875, 3.5625], abs=5e-5)
    assert out["df"].tolist() == [3, 3, 9]
    # p 6.82e-05 and 7.25e-05 (facts/data-and-oracles.md 2.1)
    assert out["p"][:2].tolist() == pytest.approx([6.82e-05, 7.25e-05], abs=5e-8)


def test_latin_square_of_cars_positions_and_brands():
    # R HH::tires (Heiberger and Holland): F car 14.395, position 2.302, brand 11.419; SS 38.6875, 6.1875, 30.6875,
    # residual 5.375 on 6 df (facts/data-and-oracles.md 2.2).
    wear = [[12, 14, 17, 13], [11, 12, 14, 14], [13, 11, 10, 13], [8, 13, 9, 9]]
    brand = [[3, 2, 1, 4], [4, 3, 2, 1], [1, 4, 3, 2], [2, 1, 4, 3]]
    frame = long(
        [(c, p, brand[c][p], wear[c][p]) for c in range(4) for p in range(4)],
        ["car", "position", "brand", "wear"],
    )
    out = adjusted_anova(frame, "wear", ["car", "position", "brand"])
    assert out["adjusted_f"][:3].tolist() == pytest.approx([14.395, 2.302, 11.419], abs=5e-4)
    assert out["ss"].tolist() == pytest.approx([38.6875, 6.1875, 30.6875, 5.375], abs=5e-5)
    assert out["p"][:3].tolist() == pytest.approx([0.003784, 0.1769, 0.006825], abs=5e-5)


def test_incomplete_blocks_of_compounds_on_tires():
    # Davies 1954 road wear (R slgf::roadwear): tire SS 39123 F 37.24 p .00076 before, compound SS 20729 F 19.73
    # p .0034 after adjusting for the tire; residual SS 1751 on 5 df (facts/data-and-oracles.md 2.4).
    blocks = {1: "A238 B238 C279", 2: "A196 B213 D308", 3: "A254 C334 D367", 4: "B312 C421 D412"}
    frame = long(
        [(tire, cell[0], float(cell[1:])) for tire, row in blocks.items() for cell in row.split()],
        ["tire", "compound", "abrasion"],
    )
    out = adjusted_anova(frame, "abrasion", ["tire", "compound"])
    assert out.loc["tire", "f"] == pytest.approx(37.24, abs=5e-3)
    assert out.loc["tire", "ss"] == pytest.approx(39123, abs=0.5)
    assert out.loc["tire", "p"] == pytest.approx(0.00076, abs=5e-6)
    assert out.loc["compound", "adjusted_f"] == pytest.approx(19.73, abs=5e-3)
    assert out.loc["compound", "adjusted_ss"] == pytest.approx(20729, abs=0.5)
    assert out.loc["compound", "adjusted_p"] == pytest.approx(0.0034, abs=5e-5)
    assert (out.loc["residual", "df"], out.loc["residual", "ss"]) == (5, pytest.approx(1751, abs=0.5))
    # raw and adjusted differ where blocks are incomplete
    assert out.loc["tire", "adjusted_f"] < 0.6 * out.loc["tire", "f"]


def test_columns_and_gaps_are_named():
    with pytest.raises(InputError, match="no column is called make"):
        adjusted_anova(brands_by_cars(), "wear", ["make"])
    holed = brands_by_cars().assign(wear=lambda d: d["wear"].astype(float).where(d["car"] != 1))
    with pytest.raises(InputError, match="unknown ones"):
        adjusted_anova(holed, "wear", ["brand"])
    with pytest.raises(InputError, match="nothing is left to judge by"):
        adjusted_anova(brands_by_cars()[:4], "wear", ["brand"])
