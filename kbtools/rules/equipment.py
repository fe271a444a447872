"""Rules about people and equipment."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.library import Library
from kbtools.problem import Position
from kbtools.rules.registry import Finding, rule


@rule("no-people")
def no_people(library: Library) -> Iterator[Finding]:
    """The content names its people, lowest first.

    Every action says who may do it; without people nobody may do anything.

    Fails:

        # no people: in any file under equipment/

    Passes:

        people:
          owner: {title: Operator, visit_minutes: 0}
          technician: {title: Trained technician, visit_minutes: 90}
    """
    if not library.declared("person") and not library.mentioned:
        yield Finding(
            Position("equipment"),
            "no file under equipment/ names any people",
            "Add people: with at least one person, lowest first.",
        )


@rule("nothing-to-find")
def nothing_to_find(library: Library) -> Iterator[Finding]:
    """The content holds at least one symptom.

    A manual that is searched by symptom has one to find.

    Fails:

        content/ without any topics/<system>/<topic>.yml

    Passes:

        content/topics/legs/corner-sinks.yml with symptoms:
    """
    if not library.declared("symptom") and not library.mentioned:
        yield Finding(
            Position("topics"),
            "the content holds 0 symptoms, at least 1 is needed",
            "Write a topic at topics/<system>/<topic>.yml.",
        )
