"""The sums themselves, against values that somebody else published."""

from __future__ import annotations

import math

import pytest

from tests.content import scenario as s


def test_force_is_pressure_times_area() -> None:
    """6 in across at 10 psi gives 282.6 lb with π = 3.14, exactly 282.74 (NAVEDTRA 14105, assignment 1)."""
    bar, area, newton_per_pound = 10 * 0.0689476, math.pi / 4 * (6 * 2.54) ** 2, 4.44822
    assert s.force(bar, area) * 1000 / newton_per_pound == pytest.approx(282.74, rel=0.001)


def test_retracting_works_on_the_ring_area() -> None:
    """4 in bore less 3.14 in² of rod at 100 psi gives 942 lb (Fluid Power Journal, 2017-02)."""
    ring = (math.pi / 4 * 16 - 3.14) * 2.54**2
    assert s.force(100 * 0.0689476, ring) * 1000 / 4.44822 == pytest.approx(942, rel=0.002)


@pytest.mark.parametrize(("cable", "amps", "volts"), [((107, 0.00044), 20, 0.942), ((100, 0.00306), 20, 6.12)])
def test_drop_is_length_times_resistance_times_current(
    cable: tuple[float, float], amps: float, volts: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FAA AC 43.13-1B, table 11-7; the table is per foot, so the thousandth is made up for."""
    monkeypatch.setitem(s.COPPER, cable[1], cable[1] * 1000)
    assert s.drop(cable, amps) == pytest.approx(volts, abs=0.001)


def test_slopes_are_tangents() -> None:
    """1:12 is 4.764° (ADA 405.2). 12 % is 6.84° (slope calculators)."""
    assert s.slope(12 * (s.STROKE - s.LANDING)) == pytest.approx(4.764, abs=0.01)
    assert s.gap(6.84, 1.0) == pytest.approx(120, abs=0.1)


def test_the_motor_is_strong_enough_for_the_pump() -> None:
    """kW = bar·L/min/600 (peninsularcylinders.com). 1.5 kW at the shaft leaves room for a pump of 75 per cent."""
    assert s.RELIEF * s.FLOW / 600 < 1.5 * 0.80


def test_the_relief_valve_lifts_the_heavier_type() -> None:
    assert s.force(s.RELIEF) > s.corner("w6")
    assert s.corner("w6") / s.BORE_AREA * 100 == pytest.approx(138, abs=0.5)
