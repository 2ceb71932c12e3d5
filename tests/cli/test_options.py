"""How a command's options are declared: switches, values, those given again, groups, and those not told of."""

import argparse

import pytest

from tirelife.cli.options import SHARED, Group, declare, option


def parsed(options, *words, seen=True):
    parser = argparse.ArgumentParser()
    declare(parser, options, seen=seen)
    return parser.parse_args(list(words))


def test_an_option_without_a_value_is_a_switch_and_with_one_takes_it():
    own = [option("--all"), option("--line LINE"), option("-v --verbose"), option("target DST")]
    told = parsed(own, "--line", "A", "-v", "there")
    assert (told.all, told.line, told.verbose, told.target) == (False, "A", True, "there")
    assert option("--line LINE").how["metavar"] == "LINE"
    assert option("target DST").names == ("target",)
    assert option("--new --old DEPTH").names == ("--new", "--old")


@pytest.mark.parametrize(
    "how", [{"choices": ("a", "b")}, {"nargs": "*"}, {"action": "store_const", "const": 1}]
)
def test_what_says_itself_what_it_takes_is_no_switch(how):
    assert option("--which", **how).how.get("action") != "store_true"


def test_an_option_of_many_is_a_list_that_begins_empty_or_as_it_says():
    assert parsed([option("--line LINE", many=True)], "--line", "A", "--line", "B").line == ["A", "B"]
    assert parsed([option("--line LINE", many=True)]).line == []
    assert parsed([option("--line LINE", many=True, default=None)]).line is None
    assert "many" not in option("--line LINE", many=False).how


def test_shared_options_go_by_their_names_and_groups_stand_within_groups():
    both = [Group("how it is read", ("units", Group(None, (option("--a"), option("--b"))))), "logbook"]
    told = parsed(both, "book", "--b")
    assert (told.units, told.a, told.b, told.logbook) == ("us", False, True, "book")
    with pytest.raises(SystemExit):
        parsed(both, "book", "--a", "--b")
    with pytest.raises(KeyError):
        parsed(["none"])


def test_options_that_the_help_does_not_tell_of_are_taken_all_the_same():
    parser = argparse.ArgumentParser()
    declare(parser, [Group("heading", (option("--quiet", "says less"),))], seen=False)
    assert "says less" not in parser.format_help()
    assert "heading" not in parser.format_help()
    assert parser.parse_args(["--quiet"]).quiet is True
    seen = argparse.ArgumentParser()
    declare(seen, [Group("heading", (option("--quiet", "says less"),))])
    assert "heading:" in seen.format_help()
    assert "says less" in seen.format_help()


def test_every_shared_option_can_be_declared_with_every_other():
    parser = argparse.ArgumentParser()
    declare(parser, [name for name in SHARED if name != "vehicles"])
    told = parser.parse_args(["book", "--vehicle", "V1"])
    assert told.chunk == 10_000
    assert (told.units, told.language, told.rules_for) == ("us", "en", "car")
    assert (told.fitting, told.rotation) == (0.0, 0.0)
