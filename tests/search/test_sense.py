"""Which way something goes. The sentences are common English, no source."""

from __future__ import annotations

import pytest

from kbtools.search.constants import AGREES, OPPOSITE, UNIT
from kbtools.search.sense import Sense, contradicts, opposite, read_senses, sense_factor
from kbtools.search.tokens import tokens

THINGS = {
    "lamp": "lamp",
    "light": "lamp",
    "leg": "leg",
    "legs": "leg",
    "corner": "corner",
    "pump": "pump",
    "alarm": "alarm",
}
WAYS = {
    "lamp": {"out": "off", "up": "on"},
    "corner": {"down": "retract", "up": "extend"},
    "alarm": {"off": "none"},
}


def _senses(text: str) -> str:
    found = tokens(text)
    words = [t.text for t in found]
    said = read_senses(words, [t.pause for t in found], [THINGS.get(w, "") for w in words], WAYS)
    return "; ".join(" ".join(one[:2]) for one in said)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("the leg will not go down", "no extend"),
        ("the leg won't come up", "no retract"),
        ("leg does not extend", "no extend"),
        ("nothing goes down", "no extend"),
        ("leg stuck down", "no retract"),
        ("leg stays up", "no extend"),
        ("leg will not stay up", "by-itself extend"),
        ("leg creeps down", "by-itself extend"),
        ("leg comes down by itself", "by-itself extend"),
        ("the corner goes down by itself", "by-itself retract"),
        ("legs go up slowly", "slow retract"),
        ("the leg is down", "is extend"),
        ("lamp goes out", "by-itself off"),
        ("lamp will not go out", "no off"),
        ("pump stays on", "no off"),
        ("pump does not come on", "no on"),
        ("pump will not stop", "no off"),
        ("the lamp is off with legs down", "is off"),
        ("pump goes off when the lamp comes on", "by-itself off"),
        ("the pump is on but nothing goes up", "no retract"),
        ("the alarm went off", ""),
        ("parked on the road", ""),
        ("the leg in the mud", ""),
        ("out of order", ""),
        ("one side is a bit lower", ""),
        ("the leg will not lower", "no extend"),
        ("setting up the trailer", ""),
        ("when I press raise", ""),
        ("no never nothing", ""),
        ("", ""),
    ],
)
def test_what_a_sentence_says(text: str, expected: str) -> None:
    assert _senses(text) == expected


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (("no", "extend"), ("no", "retract"), True),
        (("by-itself", "extend"), ("by-itself", "retract"), True),
        (("no", "extend"), ("by-itself", "extend"), True),
        (("no", "extend"), ("by-itself", "retract"), False),
        (("no", "on"), ("is", "off"), False),
        (("no", "off"), ("is", "off"), True),
        (("no", "off"), ("no", "on"), True),
        (("is", "extend"), ("no", "extend"), True),
        (("is", "extend"), ("by-itself", "retract"), False),
        (("slow", "extend"), ("slow", "retract"), True),
        (("no", "extend"), ("no", "on"), False),
    ],
)
def test_opposites_are_mutual(one: Sense, other: Sense, expected: bool) -> None:
    assert opposite(one, other) is expected
    assert opposite(other, one) is expected
    assert not opposite(one, one)


def test_only_what_is_said_of_the_entrys_thing_counts() -> None:
    said = [("no", "on", "pump")]
    assert contradicts(said, ("is", "on"), frozenset({"pump"}))
    assert not contradicts(said, ("is", "on"), frozenset({"lamp"}))
    assert contradicts([("no", "on", "")], ("is", "on"), frozenset())
    assert not contradicts([*said, ("is", "on", "pump")], ("is", "on"), frozenset({"pump"}))
    assert not contradicts(said, None, frozenset({"pump"}))


def test_the_very_sense_of_its_own_thing_lifts_an_entry_and_the_opposite_lowers_it() -> None:
    entry, pump = ("no", "on"), frozenset({"pump"})
    assert sense_factor([("no", "on", "pump")], entry, pump) == AGREES > UNIT
    assert sense_factor([("no", "on", "")], entry, pump) == UNIT
    assert sense_factor([("no", "on", "lamp")], entry, pump) == UNIT
    assert sense_factor([("no", "off", "pump")], entry, pump) == OPPOSITE < UNIT
    assert sense_factor([("no", "on", "pump")], None, pump) == UNIT
