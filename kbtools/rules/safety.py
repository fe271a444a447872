"""Rules that keep people away from what they may not meet."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.library import Library
from kbtools.model import Action, Path, Remedy
from kbtools.problem import Position
from kbtools.rules.registry import Finding, rule


@rule("hazard-without-avoidance")
def hazard_without_avoidance(library: Library) -> Iterator[Finding]:
    """A hazard says how it is avoided.

    A safety message names the hazard, what it can do, and how to avoid it (ANSI Z535.6).

    Fails:

        hot-oil: {title: Hot oil, harm: serious, likelihood: could, consequence: Burns., who: technician}

    Passes:

        hot-oil: {title: Hot oil, harm: serious, likelihood: could, consequence: Burns., avoid: Let it cool., who: technician}
    """
    for hazard in library.hazards.values():
        if not hazard.avoid:
            yield Finding(
                library.at("hazard", hazard.id, key=True),
                f"the hazard {hazard.id} does not say how it is avoided",
                "Add avoid: and what to do or not to do.",
            )


@rule("action-above-person")
def action_above_person(library: Library) -> Iterator[Finding]:
    """Nobody is sent to a place, given a tool or exposed to a hazard above them.

    An owner is never led under the equipment, and never meets a hazard that takes training.

    Fails:

        look-below: {who: owner, place: under-trailer, …}        # a technician's place

    Passes:

        look-below: {who: technician, place: under-trailer, …}
    """
    for kind, ident, path, action in _actions(library):
        for to_kind, to_id, where in _meets(library, action, path):
            target = library.entries[to_kind].get(to_id)
            who = getattr(target, "who", None)
            if who is not None and library.rank(who) > library.rank(action.who):
                yield Finding(
                    library.at(kind, ident, where),
                    f"{ident} is for {action.who}, but the {to_kind} {to_id} is only for {who}",
                    f"Raise who to {who}, or do it another way.",
                )


def _actions(library: Library) -> Iterator[tuple[str, str, Path, Action]]:
    for check in library.checks.values():
        yield "check", check.id, (), check
    for cause in library.causes.values():
        if isinstance(cause.remedy, Remedy):
            yield "cause", cause.id, ("remedy",), cause.remedy


def _meets(library: Library, action: Action, path: Path) -> Iterator[tuple[str, str, Path]]:
    """What the person meets: the place, tools and hazards, those of single steps and of the place and tools included."""
    yield "place", action.place, (*path, "place")
    lists = [("tools", action.tools, action.hazards, path)]
    lists += [("tools", step.tools, step.hazards, (*path, "steps", i)) for i, step in enumerate(action.steps)]
    for _, tools, hazards, at in lists:
        for i, tool in enumerate(tools):
            yield "tool", tool, (*at, "tools", i)
            entry = library.tools.get(tool)
            yield from (("hazard", hazard, (*at, "tools", i)) for hazard in (entry.hazards if entry else ()))
        yield from (("hazard", hazard, (*at, "hazards", i)) for i, hazard in enumerate(hazards))
    place = library.places.get(action.place)
    yield from (("hazard", hazard, (*path, "place")) for hazard in (place.hazards if place else ()))


@rule("precaution-above-person")
def precaution_above_person(library: Library) -> Iterator[Finding]:
    """A precaution that opens a symptom can be taken by everybody who reads it.

    The first words of a page are for whoever stands there, so the lowest person may do them.

    Fails:

        first: [lower-onto-stands]         # a technician's precaution

    Passes:

        first: [everybody-off]             # an owner's precaution
    """
    lowest = next(iter(library.people), None)
    for symptom in library.symptoms.values():
        for path, ident in _opening(symptom.first, symptom.stop_if):
            precaution = library.precautions.get(ident)
            if precaution and lowest and library.rank(precaution.who) > 0:
                yield Finding(
                    library.at("symptom", symptom.id, path),
                    f"the precaution {ident} is only for {precaution.who}, but everybody reads this symptom",
                    f"Name a precaution that {lowest} may take.",
                )


def _opening(first: tuple[str, ...], stop_if: tuple[object, ...]) -> Iterator[tuple[Path, str]]:
    yield from ((("first", i), ident) for i, ident in enumerate(first))
    yield from ((("stop_if", i, "then"), str(getattr(stop, "then", ""))) for i, stop in enumerate(stop_if))


@rule("address-not-web")
def address_not_web(library: Library) -> Iterator[Finding]:
    """`site_url` and `edit_base` are web addresses (http or https).

    They become links and QR codes; any other scheme could run code in the reader's browser.

    Fails:

        site_url: "javascript:alert(1)"

    Passes:

        site_url: https://manual.example/
    """
    for key in ("site_url", "edit_base"):
        value = getattr(library.manual, key)
        if value and not value.lower().startswith(("https://", "http://")):
            at: Position = library.at("manual", "manual", (key,))
            yield Finding(
                at,
                f"{key} is {value!r}, not an address that starts with https:// or http://",
                "Give the full address, or leave it out.",
            )
