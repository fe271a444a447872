"""What the invented trailers are given as, and what follows from it.

Lengths in metres, areas in cm², pressures in bar, flows in litres a minute, forces in kN. Nothing here is read from the
content: the tests hold the content to these values.
"""

from __future__ import annotations

import math

GRAVITY = 9.81
MASS = {"w4": 12_000, "w6": 17_500}
"""Kilograms."""
LEGS = {"w4": 4, "w6": 6}
ACROSS, LENGTH = 2.2, {"w4": 6.5, "w6": 9.0}
"""Spacing of the legs, across and lengthwise."""
STROKE, LANDING = 0.500, 0.200
"""Full stroke of a leg, and what is used before it lands."""
BORE, ROD, FOOT, PAD = 0.063, 0.040, 0.250, 0.500
"""Diameters; the pad is square."""
FLOW, RELIEF = 4.0, 170
HAND_STROKE = 25
"""cm³ a stroke of the hand pump."""
TOLERANCE = 0.3
"""Degrees within which LEVEL is content."""

COPPER = {2.5: 7.98, 10: 1.91, 70: 0.272}
"""Ω/km at 20 °C, the most that IEC 60228 class 5 allows (etechnik-synergie.com and mycableengineering.com agree)."""
MAIN_CABLE, FEED = (2 * 9, 70), (2 * 6, 2.5)
"""Metres there and back, and mm²."""
COIL, K1, PANEL = 0.75, 0.8, 0.3
"""Amperes."""
EXPANSION = 0.00046 * 1.8
"""Hydraulic oil, per °C: 0.00046 per °F (leeimh.com, bulk modulus)."""

BORE_AREA = math.pi / 4 * (100 * BORE) ** 2
ROD_AREA = math.pi / 4 * (100 * ROD) ** 2
RING_AREA = BORE_AREA - ROD_AREA


def force(bar: float, area: float = BORE_AREA) -> float:
    """kN of a pressure on an area in cm²: 1 bar on 1 cm² is 10 N."""
    return bar * area / 100


def litres(stroke: float, legs: int = 1, area: float = BORE_AREA) -> float:
    """Oil for a stroke."""
    return legs * area * stroke / 10


def seconds(volume: float) -> float:
    """What the pump takes for a volume in litres."""
    return volume / FLOW * 60


def corner(unit: str = "w4") -> float:
    """kN on one leg when two legs carry half the weight."""
    return MASS[unit] * GRAVITY / 1000 / 4


def slope(spacing: float) -> float:
    """Degrees that the stroke left after landing makes up, spacing measured level: the tangent."""
    return math.degrees(math.atan((STROKE - LANDING) / spacing))


def gap(degrees: float, over: float) -> float:
    """mm that a slope makes over a length in metres."""
    return 1000 * over * math.tan(math.radians(degrees))


def drop(cable: tuple[float, float], amps: float) -> float:
    """Volts lost in a cable (metres there and back, mm²): length × Ω/km × A, the rule of FAA AC 43.13-1B."""
    metres, square = cable
    return metres * COPPER[square] / 1000 * amps


def control_amps(legs: int) -> float:
    """What the panel draws while that many legs move: their valves, the direction valve, K1 and itself."""
    return (legs + 1) * COIL + K1 + PANEL


def motor_amps(bar: float) -> float:
    """What the pump motor draws at a pressure."""
    return 30 + 0.47 * bar
