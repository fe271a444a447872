"""The figures of the demo's 24 V supply against published tables and against each other."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from kbtools.library import Library, open_content
from kbtools.model import Outcome

CONTENT = Path(__file__).parents[2] / "content"
PUMP_AMPS = 30 + 0.47 * 170
"""The demo's motor at its relief valve: about 30 A and 0.47 A for each of 170 bar."""
IEC_60228_CLASS_5 = {2.5: 7.98, 70: 0.272}
"""mm² → Ω/km at 20 °C, plain copper, maximum (IEC 60228, as restated at etechnik-synergie.com and mycableengineering.com)."""


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(CONTENT)[0]


def _normal(demo: Library, check: str) -> Outcome:
    return next(outcome for outcome in demo.checks[check].outcomes.values() if outcome.normal)


def _volts(text: str | None) -> list[float]:
    return [float(number) for number in re.findall(r"(\d+\.\d+) V", text or "")]


def test_long_cable_loses_what_its_note_says(demo: Library) -> None:
    """IEC 60228 class 5: 70 mm² has 0.272 Ω/km; 9 m there and 9 m back."""
    lost = 18 / 1000 * IEC_60228_CLASS_5[70] * PUMP_AMPS
    assert _volts(demo.checks["drop-tp1-tp3-load"].note)[0] == pytest.approx(lost, abs=0.005)
    limit = _normal(demo, "drop-tp1-tp3-load").below
    assert limit is not None and lost < limit, "a sound cable must not be called bad"


def test_panel_feed_loses_what_its_note_says(demo: Library) -> None:
    """IEC 60228 class 5: 2.5 mm² has 7.98 Ω/km; 6 m there and back. Panel 0.3 A, K1 0.8 A, coils 0.75 A: legs and YD."""
    ohms = 12 / 1000 * IEC_60228_CLASS_5[2.5]
    lost = [ohms * (0.3 + 0.8 + 0.75 * (legs + 1)) for legs in (2, 4, 6)]
    assert _volts(demo.checks["drop-tp3-tp6-load"].note) == pytest.approx(lost, abs=0.01)
    limit = _normal(demo, "drop-tp3-tp6-load").below
    assert limit is not None and max(lost) < limit


def test_rest_voltages_follow_the_published_table(demo: Library) -> None:
    """12.65 V full, 12.45 V 75 %, 12.24 V 50 % for 12 V at 80 °F, rested 8 h (discoverbattery.com article 120); tables differ by 0.05 V."""
    table = {100: 12.65, 75: 12.45, 50: 12.24}
    found = re.findall(r"(\d+\.\d) V (?:full|about (\d+) %)", demo.checks["tp1-rest"].note or "")
    assert len(found) == len(table)
    for volts, percent in found:
        assert float(volts) == pytest.approx(2 * table[int(percent or 100)], abs=2 * 0.05)
    full = _normal(demo, "tp1-rest")
    assert full.from_ is not None and full.below is not None
    assert full.from_ == pytest.approx(2 * table[75], abs=2 * 0.05)
    assert full.from_ < 2 * table[100] < full.below


def test_charging_voltage_is_28_volts_give_or_take_one(demo: Library) -> None:
    """28 ± 1 V for 24 V systems (charging-system test of a diesel-engine workshop manual)."""
    right = _normal(demo, "charge-voltage")
    assert (right.from_, right.below) == (27.0, 29.0)


def test_supply_limits_lie_within_the_range_for_24_volt_systems(demo: Library) -> None:
    """ISO 16750-2:2010 code F: equipment of 24 V systems works from 16 V to 32 V."""
    for check in ("tp6-load", "tp1-load", "tp1-idle", "tp1-rest", "charge-voltage", "tp1-for-charger"):
        for outcome in demo.checks[check].outcomes.values():
            assert all(16 <= end <= 32 for end in (outcome.from_, outcome.below) if end is not None), (check, outcome)


def test_fuses_are_sizes_that_exist_and_carry_their_load(demo: Library) -> None:
    """Blade fuses of SAE J1284 (procarmanuals.com): 3 to 40 A. The loads are the demo's own."""
    j1284 = {3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40}
    amps = {
        ident: float((demo.parts[f"fuse-{ident}"].rating or "").split(" A")[0])
        for ident in ("f1", "f2", "f3", "f4", "f5")
    }
    assert {amps["f3"], amps["f4"], amps["f5"]} <= j1284
    loads = {"f1": PUMP_AMPS, "f2": 2 * 18 + 8, "f3": 6.4, "f4": 16, "f5": 7}
    assert all(loads[ident] < amps[ident] for ident in loads)
    assert all(demo.parts[f"fuse-{ident}"].protective for ident in amps)


def test_motor_current_at_the_relief_valve_reads_normal(demo: Library) -> None:
    right = _normal(demo, "start-current")
    assert right.from_ is not None and right.below is not None
    assert right.from_ < PUMP_AMPS < right.below


def test_volts_lost_up_to_a_point_are_never_less_than_before_it(demo: Library) -> None:
    """Kirchhoff: along one path the loss only grows, so must its limit."""
    path = ["drop-tp1-tp2-load", "drop-tp1-tp2a-load", "drop-tp1-tp3-load"]
    limits = [_normal(demo, check).below or math.nan for check in path]
    assert limits == sorted(limits) and len(set(limits)) == len(limits)


def test_amp_hours_in_words_are_amps_times_hours(demo: Library) -> None:
    """Charge is current times time."""
    lights = demo.causes["house-lights-left-on"].explains
    amps, hours, charge = (float(n) for n in re.findall(r"(\d+) (?:A|h|Ah)\b", lights)[:3])
    assert amps * hours == charge
    charged = re.search(r"at (\d+) A\. Two hours .* (\d+) Ah", demo.causes["charged-too-short"].explains)
    assert charged and 2 * float(charged[1]) == float(charged[2])
    extra = re.search(r"Three amps take (\d+) Ah a day", demo.causes["extra-load-fitted"].explains)
    assert extra and float(extra[1]) == 3 * 24


def test_switches_of_two_voltages_rise_in_one_order(demo: Library) -> None:
    """SUPPLY goes dark (21.0 V) before the panel stops the pump (20.0 V), and that before an inrush alone could (19.6 V)."""
    ends = sorted(
        {end for o in demo.checks["tp6-load"].outcomes.values() for end in (o.from_, o.below) if end is not None}
    )
    assert ends == [20.0, 21.0]
    assert _volts(demo.checks["tp1-load"].note)[-1] < ends[0]
