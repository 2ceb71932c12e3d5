"""What a page always says."""

from tirelife.sheet.cautions import cautions
from tirelife.sheet.language import texts


def test_every_caution_of_the_language_is_said_and_a_leak_is_two_psi_a_month():
    # 2 psi a month (GAO-07-246R); 2 x 6.894757 kPa = 13.8 kPa.
    for units, leak in (("us", "2 psi"), ("metric", "14 kPa")):
        said = cautions(units)
        assert len(said) == len([code for code in texts() if code.startswith("care-")])
        assert [leak in text for text in said].count(True) == 1
        assert not [text for text in said if "{" in text]
    assert cautions("us", texts("es")) != cautions("us")
