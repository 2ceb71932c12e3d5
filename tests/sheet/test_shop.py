import datetime as dt
import re

import pytest

from tests.sheet.answers import Ready, answer
from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.sheet.page import compose_page
from tirelife.sheet.shop import Shop, read_shop

FILE = 'name = "Fellside Tire"\ntelephone = "555 0100"\nnote = "Ask for Ann."\nnext_date = 2027-02-01\n'


def text_of(html):
    body = re.sub(r"<(script|style)\b.*?</\1>", "", html, flags=re.S)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))


def test_a_file_is_read_and_every_part_may_be_missing(tmp_path):
    file = tmp_path / "shop.toml"
    file.write_text(FILE)
    assert read_shop(file) == Shop("Fellside Tire", "555 0100", "Ask for Ann.", dt.date(2027, 2, 1))
    file.write_text("")
    assert read_shop(file) == Shop()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name = 3", "name 3 is no text"),
        ('next_date = "1/2/27"', "is no day"),
        ("next_date = 2027-02-01T10:00:00", "is no day"),
        ('phone = "1"', "'phone' is not known here. Use name, telephone, note, next_date"),
        ("name = ", "shop.toml: "),
        (f'note = "{"x" * 281}"', "281 characters; a page has room for 280"),
        ('name = "a\\nb"', "one line"),
    ],
)
def test_what_cannot_be_used_is_named(tmp_path, text, said):
    file = tmp_path / "shop.toml"
    file.write_text(text)
    with pytest.raises(InputError, match=re.escape(said)):
        read_shop(file)
    with pytest.raises(InputError, match="cannot be read"):
        read_shop(tmp_path / "none.toml")


def test_the_page_names_the_shop_as_text_and_in_its_place():
    shop = Shop("<b>Fell & Side</b>", "555 0100", "Ask for <i>Ann</i>.", dt.date(2027, 2, 1))
    html = compose_page(answer(), shop=shop, bundle=Ready())
    assert "<b>" not in html.split("<script", 1)[0]
    said = text_of(html)
    assert "&lt;b&gt;Fell &amp; Side&lt;/b&gt; · 555 0100" in said
    assert "Your next appointment: February 1, 2027. Ask for &lt;i&gt;Ann&lt;/i&gt;. When to plan" in said
    assert 'class="shop"' not in compose_page(answer(), bundle=Ready())


def test_options_go_before_the_file_and_a_bad_day_is_told(tmp_path, capsys):
    file, page = tmp_path / "shop.toml", tmp_path / "page.html"
    file.write_text(FILE)
    asked = ["sheet", "data_synthetic/logbook", "--vehicle", "V03", "--shop", str(file), "--out", str(page)]
    assert main([*asked, "--telephone", "555 0199", "--next-date", "2027-03-04"]) == 0
    said = text_of(page.read_text())
    assert "Fellside Tire · 555 0199" in said
    assert "March 4, 2027. Ask for Ann." in said
    assert main([*asked, "--next-date", "4.3."]) == 2
    assert "--next-date '4.3.' is not a date" in capsys.readouterr().err
