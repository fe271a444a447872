"""What stands under equipment/: systems, types, people, places, tools, hazards, precautions, parts, test points, states."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from kbtools.model.actions import Steps
from kbtools.model.base import Entry, Ids, Ref, Text, Waiting

SIGNAL_WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")
"""Signal words, most severe first (ANSI Z535.4, ISO 3864-2)."""

SERIOUS = ("death", "serious")


class System(Entry):
    """A part of the equipment that people name when they call."""

    summary: Text | None = None
    """What belongs to it, in a sentence or two."""


class Type(Entry):
    """A type of the equipment."""

    serial_prefix: Text | None = None
    """Letters before the serial number's digits."""
    serial_digits: Annotated[int, Field(ge=1, le=9)] = 5
    """How many digits a serial number has after those letters."""
    summary: Text | None = None
    """What it is."""


class Person(Entry):
    """Somebody who may do things. File order is rank, lowest first."""

    visit_minutes: Waiting
    """Minutes until this person is there."""
    summary: Text | None = None
    """Who that is and what they may do."""


class Place(Entry):
    """Where something is done."""

    who: Annotated[str, Ref("person")]
    """Lowest person allowed there."""
    reach_minutes: Waiting
    """Minutes to get there the first time."""
    where: Text
    """Words by which a caller finds it."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards of being there."""


class Tool(Entry):
    """Something that is needed in the hand."""

    who: Annotated[str, Ref("person")]
    """Lowest person allowed to use it."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards of using it."""
    summary: Text | None = None
    """Which one, and how it is used well."""


class Hazard(Entry):
    """What can hurt somebody or something. Its signal word is computed, never typed."""

    harm: Literal["death", "serious", "minor", "property"]
    """Worst credible harm."""
    likelihood: Literal["will", "could"]
    """Will it happen if not avoided, or could it?"""
    symbol: Literal[
        "general",
        "electricity",
        "hot",
        "starts-by-itself",
        "crushing",
        "hands",
        "corrosive",
        "battery",
        "pressure",
        "falling",
        "injection",
        "fire",
        "rolling",
    ] = "general"
    """What the drawing beside the triangle shows."""
    consequence: Text
    """What happens."""
    avoid: Text | None = None
    """How it is avoided."""
    who: Annotated[str, Ref("person")]
    """Lowest person who may be exposed to it."""

    @property
    def signal_word(self) -> str:
        """DANGER, WARNING, CAUTION or NOTICE.

        By ANSI Z535.4 and ISO 3864-2: DANGER *will*, WARNING *could* result in death or serious injury; CAUTION *could* result
        in minor or moderate injury; NOTICE is property damage only.
        """
        if self.harm == "property":
            return "NOTICE"
        if self.harm == "minor":
            return "CAUTION"
        return "DANGER" if self.likelihood == "will" else "WARNING"

    @property
    def severity(self) -> tuple[int, int, int]:
        """Sorts most severe first: signal word, then harm, then likelihood."""
        harms = ("death", "serious", "minor", "property")
        return SIGNAL_WORDS.index(self.signal_word), harms.index(self.harm), int(self.likelihood != "will")


class Precaution(Entry):
    """Steps that make safe, written once and named wherever they are due."""

    who: Annotated[str, Ref("person")]
    """Lowest person allowed to do it."""
    steps: Annotated[Steps, Field(min_length=1)]
    """The steps in order."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards it protects from."""


class Part(Entry):
    """A part of the equipment."""

    system: Annotated[str, Ref("system")]
    """Id of its system."""
    where: Text
    """Words by which a caller finds it."""
    place: Annotated[str, Ref("place")] | None = None
    """Id of the place where it is reached."""
    rating: Text | None = None
    """Rating or size to replace it by."""
    protective: bool = False
    """True for a fuse or switch that protects: it opens for a reason, and the reason is looked for."""
    summary: Text | None = None
    """What it does."""


class Point(Entry):
    """A test point."""

    place: Annotated[str, Ref("place")]
    """Id of the place where it is reached."""
    system: Annotated[str, Ref("system")] | None = None
    """Id of its system."""
    where: Text | None = None
    """Words by which it is found, pins included."""
    idle: Text | None = None
    """What it reads with nothing running."""
    load: Text | None = None
    """What it reads under load."""


class State(Entry):
    """A condition of the equipment that an action needs or leaves behind."""

    how: Text | None = None
    """How to bring it about."""
    put_back: Text | None = None
    """What to do to undo it, when an action leaves it."""
