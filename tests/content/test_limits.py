"""Limits of checks, parts and lamps, against values computed from the trailers' data or published by others."""

from __future__ import annotations

import math
import re

import pytest

from kbtools.library import Library
from kbtools.model import Check, Outcome
from tests.content import scenario as s

REST = {100: 12.65, 75: 12.45, 50: 12.24}
"""Rest volts of a 12 V lead-acid battery by per cent of charge: discoverbattery.com, article 120."""
BLADE = {
    3: "violet", 4: "pink", 5: "tan", 7.5: "brown", 10: "red", 15: "blue", 20: "yellow", 25: "clear", 30: "green", 40: "orange",
}  # fmt: skip
"""Colours of blade fuses by amperes: procarmanuals.com, restating SAE J1284."""
VISCOSITY = {32: (28.8, 35.2), 46: (41.4, 50.6), 68: (61.2, 74.8)}
"""mm²/s at 40 °C by ISO VG class: ISO 3448 restated on lubesolut.com."""
MARGIN = 0.5
"""mm that a ruler and an eye may be off."""


def normal(check: Check) -> Outcome:
    return next(outcome for outcome in check.outcomes.values() if outcome.normal)


def edges(check: Check) -> list[float]:
    return sorted(outcome.below for outcome in check.outcomes.values() if outcome.below is not None)


# 24 V


@pytest.mark.parametrize(
    ("points", "condition", "limit"),
    [
        (("tp1", "tp2"), "load", 0.1),
        (("tp1", "tp2a"), "load", 0.2),
        (("tp1", "tp3"), "load", 1.0),
        (("tp3", "tp4"), "pump", 0.3),
        (("tp3", "tp5"), "load", 0.1),
        (("tp3", "tp6"), "load", 0.8),
        (("tp3", "tp6"), "unplugged", 0.2),
    ],
)
def test_drops_between_points_have_the_trailers_limits(
    manual: Library, points: tuple[str, str], condition: str, limit: float
) -> None:
    found = [
        check
        for check in manual.checks.values()
        if check.reading and check.reading.of == points
        and condition in (check.reading.condition or "")
        and ("load" in condition or "load" not in (check.reading.condition or ""))
    ]  # fmt: skip
    assert found, points
    assert {check.id: normal(check).below for check in found} == {check.id: limit for check in found}


def test_limits_leave_room_for_the_cable_itself() -> None:
    """A starter's feed may lose 0.5 V, general wiring 1 V (workshop manuals). A long feed is between the two."""
    assert s.drop(s.MAIN_CABLE, s.motor_amps(s.RELIEF)) == pytest.approx(0.54, abs=0.005)
    assert 0.5 < s.drop(s.MAIN_CABLE, s.motor_amps(s.RELIEF)) < 1.0
    assert s.drop(s.FEED, s.control_amps(6)) < 0.8


def test_rest_voltage_is_full_from_three_quarters(manual: Library) -> None:
    """Two batteries in series; the table's node is good to ±0.05 V for each."""
    full = normal(manual.checks["tp1-rest"])
    assert full.from_ == pytest.approx(2 * REST[75], abs=0.05)
    assert full.below is not None and full.below > 2 * REST[100]
    assert edges(manual.checks["tp1-rest"])[0] == pytest.approx(2 * REST[50], abs=0.05)


def test_charging_voltage(manual: Library) -> None:
    """28 ± 1 V in a 24 V system (workshop manual, charging-system test)."""
    right = normal(manual.checks["charge-voltage"])
    assert (right.from_, right.below) == (28 - 1, 28 + 1)


def test_pump_current_at_the_relief_valve(manual: Library) -> None:
    right = normal(manual.checks["pump-current-at-relief"])
    assert right.from_ is not None and right.below is not None
    assert right.from_ < s.motor_amps(s.RELIEF) < right.below


def _amps(manual: Library, part: str) -> float:
    found = re.match(r"(\d+(?:\.\d+)?) A\b", manual.parts[part].rating or "")
    assert found, part
    return float(found[1])


@pytest.mark.parametrize(
    ("part", "load"),
    [("fuse-f1", s.motor_amps(s.RELIEF)), ("fuse-f2", 2 * 18), ("fuse-f3", s.control_amps(6)), ("fuse-f4", 16)],
)
def test_fuses_carry_their_load_with_a_quarter_to_spare(manual: Library, part: str, load: float) -> None:
    """A quarter to spare is common practice, no source."""
    assert 1.25 * load <= _amps(manual, part) <= 2.2 * load


def test_blade_fuses_have_the_colour_of_their_rating(manual: Library) -> None:
    said = {}
    for part in manual.parts.values():
        colour = re.search(r"\bblade fuse, (\w+)", part.summary or "", re.IGNORECASE)
        if colour:
            said[part.id] = (_amps(manual, part.id), colour[1])
    assert len(said) >= 3
    assert said == {ident: (amps, BLADE[amps]) for ident, (amps, _) in said.items()}


# hydraulics


def test_the_oil_is_of_a_standard_class(manual: Library) -> None:
    found = re.search(r"ISO VG (\d+)", manual.parts["oil"].rating or "")
    assert found
    low, high = VISCOSITY[int(found[1])]
    assert low == pytest.approx(int(found[1]) * 0.9) and high == pytest.approx(int(found[1]) * 1.1)


def test_a_level_leg_carries_between_landing_and_the_heaviest_lift(manual: Library) -> None:
    """A leg is topped up to at least 40 bar and may lose 5 bar as its oil cools; lifting takes 138 bar on a W6."""
    carries = normal(manual.checks["leg-load"])
    heaviest = s.corner("w6") / s.BORE_AREA * 100
    assert carries.from_ == 40 - 5
    assert carries.below is not None and heaviest < carries.below < s.RELIEF


def test_the_relief_pressure_is_right_within_a_gauge(manual: Library) -> None:
    right = normal(manual.checks["relief-pressure"])
    assert right.from_ is not None and right.below is not None
    assert (right.from_ + right.below) / 2 == s.RELIEF


def test_one_legs_time_to_the_ground(manual: Library) -> None:
    brisk = normal(manual.checks["one-leg-time"]).below
    alone = s.seconds(s.litres(s.LANDING))
    assert brisk is not None and alone < brisk < 1.5 * alone


def test_two_legs_land_within_the_panels_patience(manual: Library) -> None:
    """FAULT blinks five times when a leg has not landed in 35 s."""
    assert normal(manual.checks["light-leg-time"]).below == 35
    assert s.seconds(s.litres(s.LANDING, 2)) < 35


def test_more_blinking_than_the_longest_level_is_a_fault(manual: Library) -> None:
    """Longest case of a W6: six legs that need 22 s each, both lifts over the whole stroke left, eight pauses of 5 s."""
    room = s.STROKE - s.LANDING
    longest = 6 * 22 + s.seconds(s.litres(room, 3)) + s.seconds(s.litres(room, 2)) + 8 * 5
    limit = manual.symptoms["level-never-finishes"].normal
    found = re.search(r"after (\d+) minutes", limit.limit if limit else "")
    assert found and 60 * int(found[1]) > longest


# ground and slope


def test_the_site_is_too_steep_where_the_stroke_ends(manual: Library) -> None:
    check = manual.checks["slope-lengthwise"]
    assert check.reading and check.reading.quantity == "gap under 600 mm"
    assert edges(check) == [
        pytest.approx(s.gap(s.slope(s.LENGTH[unit]), 0.6), abs=MARGIN + 0.5) for unit in ("w6", "w4")
    ]


def test_level_is_what_level_promises_and_a_ruler_can_tell(manual: Library) -> None:
    limit = normal(manual.checks["floor-slope"]).below
    promised = s.gap(s.TOLERANCE, 0.6)
    assert limit is not None and promised + MARGIN <= limit <= promised + 2 * MARGIN


def test_a_cold_night_is_within_what_is_called_settling(manual: Library) -> None:
    """20 °C less; 1 cm is the limit that owners are given."""
    mm = 1000 * (s.STROKE - s.LANDING) * s.EXPANSION * 20
    said = manual.symptoms["settles-first-night"].normal
    assert said and "1 cm" in said.limit
    assert mm < 10
    stated = re.search(r"20 °C less takes about (\d+) mm", said.text)
    assert stated and float(stated[1]) == pytest.approx(mm, rel=0.25)


def test_a_bare_foot_presses_five_times_as_much_as_a_pad(texts: list[str]) -> None:
    ratio = s.PAD**2 / (math.pi / 4 * s.FOOT**2)
    assert round(ratio) == 5
    assert [text for text in texts if "five times what a pad leaves" in text]
