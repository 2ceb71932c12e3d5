"""Findings of hand and eye."""

import pytest

from tirelife.codes import Severity
from tirelife.errors import InputError
from tirelife.sheet.tread_words import step_words
from tirelife.tread import Finding, Sign, parse_finding, sign_advice


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("LF:feathered_edge:inward", Finding("LF", "feathered_edge", "inward")),
        ("lr:Cups", Finding("LR", "cups")),
        ("RR:erosion:1/16in", Finding("RR", "erosion", depth_mm=1.5875)),
        ("RR:erosion:2 32nds", Finding("RR", "erosion", depth_mm=1.5875)),
        ("RR:erosion:1.6mm", Finding("RR", "erosion", depth_mm=1.6)),
    ],
)
def test_findings_are_read(text, finding):
    read = parse_finding(text)
    assert (read.position, read.kind, read.direction) == (finding.position, finding.kind, finding.direction)
    assert read.depth_mm == pytest.approx(finding.depth_mm, nan_ok=True)


@pytest.mark.parametrize(
    "text", ["LF", "XX:cups", "LF:wobble", "LF:cups:inward", "LF:feathered_edge:up", "a:b:c:d", ""]
)
def test_findings_that_mean_nothing_are_refused(text):
    with pytest.raises(InputError):
        parse_finding(text)


def test_the_message_names_what_can_be_entered():
    with pytest.raises(InputError, match="Directions of it: inward, outward"):
        Finding("LF", "feathered_edge", "up")
    with pytest.raises(InputError, match="below 0"):
        Finding("LF", "erosion", depth_mm=-1.0)


@pytest.mark.parametrize("kind", ["cords", "bulge", "cut", "crack", "object"])
def test_damage_goes_to_a_person_now(kind):
    ((where, note),) = sign_advice([Finding("RF", kind)])
    assert (where, note.code, note.severity) == ("RF", Sign.DAMAGE, Severity.URGENT)
    assert "qualified person now" in step_words(note, "us")


@pytest.mark.parametrize(
    ("depth", "position", "code", "words"),
    [
        # TM 5-3820-256-24-3, section b: at 1/16 in (1.6 mm) or more move to the drive axle.
        (25.4 / 16, "LR", Sign.EROSION_FREE, "move the tire to the driven axle"),
        (25.4 / 16 - 0.1, "LR", Sign.EROSION_USUAL, "under 1/16 in"),
        (2.0, "LF", Sign.EROSION_DRIVEN, "on a driven axle where it is unusual"),
        (float("nan"), "LR", Sign.EROSION_UNMEASURED, "measure it"),
    ],
)
def test_erosion_moves_to_the_driven_axle_from_a_sixteenth_of_an_inch(depth, position, code, words):
    ((_, note),) = sign_advice([Finding(position, "erosion", depth_mm=depth)], ["LR", "RR"])
    assert note.code is code
    assert note.severity < Severity.URGENT
    assert words in step_words(note, "us")


def test_heel_and_toe_swaps_the_axles_ends():
    # Ford LCF 2007 truck manual: swap to the other end of the same axle, so that rotation reverses.
    ((_, note),) = sign_advice([Finding("LR", "heel_and_toe")])
    assert "other wheel of the same axle" in step_words(note, "us")
