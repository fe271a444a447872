"""Figures that the content states, against values computed from what the trailers are given as.

Every place where the content states such a figure is found by its words, so that a wrong one cannot hide in another file.
"""

from __future__ import annotations

import math
import re

import pytest

from tests.content import scenario as s

NUMBER = r"(\d+(?:\.\d+)?)"
LEVEL_ROOM = s.STROKE - s.LANDING
LANDED = s.force(35), s.force(40)
RODS = s.litres(s.STROKE, 4, s.ROD_AREA), s.litres(s.STROKE, 6, s.ROD_AREA)
DOWN = s.litres(s.STROKE, 4), s.litres(s.STROKE, 6)
UP = s.litres(s.STROKE, 4, s.RING_AREA), s.litres(s.STROKE, 6, s.RING_AREA)
GIVEN_LITRES = (12, 15)
"""Tank and oil tray."""

STATED: dict[str, tuple[str, tuple[float, ...]]] = {
    "oil that cools, mm per °C at 300 mm": (rf"1 °C .{{0,60}}about {NUMBER} mm|about {NUMBER} mm for each degree", (1000 * LEVEL_ROOM * s.EXPANSION,)),
    "slope across": (rf"{NUMBER}° across", (s.slope(s.ACROSS),)),
    "slope lengthwise, W4": (rf"{NUMBER}° \(W4\)", (s.slope(s.LENGTH["w4"]),)),
    "slope lengthwise, W6": (rf"{NUMBER}° \(W6\)", (s.slope(s.LENGTH["w6"]),)),
    "LEVEL's tolerance across": (rf"{NUMBER} mm (?:over the 2\.2 m|from side to side)", (s.gap(s.TOLERANCE, s.ACROSS),)),
    "LEVEL's tolerance over 600 mm": (rf"0\.3° over 600 mm is {NUMBER} mm", (s.gap(s.TOLERANCE, 0.6),)),
    "hand pump, down": (rf"{NUMBER} strokes take one leg all the way down", (s.litres(s.STROKE) * 1000 / s.HAND_STROKE,)),
    "hand pump, up": (rf"{NUMBER} all the way up", (s.litres(s.STROKE, 1, s.RING_AREA) * 1000 / s.HAND_STROKE,)),
    "one leg's full stroke, s": (rf"full stroke takes {NUMBER} s", (s.seconds(s.litres(s.STROKE)),)),
    "two legs to landing, s": (rf"Two legs need about {NUMBER} s", (s.seconds(s.litres(s.LANDING, 2)),)),
    "four legs' full travel, s": (rf"[Ff]our (?:legs )?take {NUMBER} s|{NUMBER} s for four legs", (s.seconds(DOWN[0]),)),
    "six legs' full travel, s": (rf"all six {NUMBER} s|{NUMBER} s for six", (s.seconds(DOWN[1]),)),
    "motor current at a pressure": (rf"about {NUMBER} A at 35 bar|at 35 bar it draws about {NUMBER} A", (s.motor_amps(35),)),
    "long cable's drop": (rf"lose {NUMBER} V at 110 A", (s.drop(s.MAIN_CABLE, 110),)),
    "feed's drop, two legs": (rf"{NUMBER} V with two legs", (s.drop(s.FEED, s.control_amps(2)),)),
    "feed's drop, four legs": (rf"two legs, {NUMBER} V with four", (s.drop(s.FEED, s.control_amps(4)),)),
    "feed's drop, six legs": (rf"{NUMBER} V with six", (s.drop(s.FEED, s.control_amps(6)),)),
    "force": (
        rf"{NUMBER} kN",
        (*LANDED, s.force(160), s.force(160, s.RING_AREA), s.force(5), s.corner("w4"), s.corner("w6")),
    ),
    "ground pressure": (
        rf"{NUMBER} kPa",
        (s.corner() / (s.FOOT**2 * math.pi / 4), s.corner() / s.PAD**2),
    ),
    "oil volume": (
        rf"{NUMBER} L(?: |\.|,|$)",
        (*DOWN, *UP, *RODS, RODS[0] / 4, s.litres(s.STROKE), s.litres(s.LANDING), *GIVEN_LITRES, s.FLOW),
    ),
}  # fmt: skip
"""What is stated → the words it stands in, and the values that it may have."""


def agrees(stated: str, computed: float) -> bool:
    """True when a printed figure is the computed one, rounded; a whole number may be off by one per cent instead."""
    decimals = len(stated.partition(".")[2])
    slack: float = max(0.5 * 10.0**-decimals, 0 if decimals else 0.01 * computed)
    off = abs(float(stated) - computed)
    return off <= slack * 1.000001


@pytest.mark.parametrize(("stated", "computed", "expected"), [("0.54", 0.5386, True), ("0.55", 0.5386, False), ("94", 93.5, True), ("95", 93.5, False), ("600", 599.6, True), ("12", 12.6, False)])  # fmt: skip
def test_agreement_is_to_the_last_printed_figure(stated: str, computed: float, expected: bool) -> None:
    assert agrees(stated, computed) is expected


@pytest.mark.parametrize("what", STATED)
def test_figures_agree_with_what_they_follow_from(what: str, texts: list[str]) -> None:
    pattern, computed = STATED[what]
    found = {(next(filter(None, hit.groups())), text) for text in texts for hit in re.finditer(pattern, text)}
    assert found, f"nothing states: {what}"
    assert [(figure, text) for figure, text in found if not any(agrees(figure, value) for value in computed)] == []
