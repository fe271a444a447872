"""Rules for what the lowest person reads: nothing in it leads above them, and its words are plain."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.library import Library
from kbtools.model import Action, Check, Path, Remedy, Step
from kbtools.readability import grade_of
from kbtools.rules.registry import Finding, rule

HIGHEST_GRADE = 8.0
"""Flesch-Kincaid grade of what owners read: years of school."""


@rule("path-above-person")
def path_above_person(library: Library) -> Iterator[Finding]:
    """Nothing that somebody may do leads on to what they may not.

    The precaution that follows an outcome, a tool or hazard in a precaution's step, a page that everybody opens in an
    emergency: whoever is led there does it.

    Fails:

        look-at-lamp: {who: owner, outcomes: {smoke: {then: discharge-the-bank}}, …}   # a technician's precaution

    Passes:

        look-at-lamp: {who: owner, outcomes: {smoke: {then: get-clear}}, …}            # an owner's precaution
    """
    lowest = next(iter(library.people), None)
    for kind, ident, who, path, to_kind, to_id in _ways(library):
        target = library.entries[to_kind].get(to_id)
        needed = getattr(target, "who", None)
        reader = lowest if who is None else who
        if reader and needed is not None and library.rank(needed) > library.rank(reader):
            yield Finding(
                library.at(kind, ident, path),
                f"{ident} is for {reader}, but the {to_kind} {to_id} that it leads to is only for {needed}",
                f"Name a {to_kind} that {reader} may meet, or raise who to {needed}.",
            )


def _ways(library: Library) -> Iterator[tuple[str, str, str | None, Path, str, str]]:
    """Kind and id of an entry, who reads it (None: everybody), and where it leads on to which kind and id."""
    for i, ident in enumerate(library.manual.emergency):
        yield "manual", "manual", None, ("emergency", i), "precaution", ident
    for kind, owner, start, action in _actions(library):
        if isinstance(action, Check):
            for outcome in (o for o in action.outcomes if action.outcomes[o].then):
                to = action.outcomes[outcome].then or ""
                yield kind, owner, action.who, (*start, "outcomes", outcome, "then"), "precaution", to
    for precaution in library.precautions.values():
        for i, step in enumerate(precaution.steps):
            for j, tool in enumerate(step.tools):
                yield "precaution", precaution.id, precaution.who, ("steps", i, "tools", j), "tool", tool
            for j, hazard in enumerate(step.hazards):
                yield "precaution", precaution.id, precaution.who, ("steps", i, "hazards", j), "hazard", hazard


def _actions(library: Library) -> Iterator[tuple[str, str, Path, Action]]:
    for check in library.checks.values():
        yield "check", check.id, (), check
    for cause in library.causes.values():
        if isinstance(cause.remedy, Remedy):
            yield "cause", cause.id, ("remedy",), cause.remedy


@rule("owner-words-too-hard", "warning")
def owner_words_too_hard(library: Library) -> Iterator[Finding]:
    """What owners read is of Flesch-Kincaid grade 8 at most.

    Short words and short sentences are understood in the rain and by people in a fright. Grade = 0.39 words per sentence +
    11.8 syllables per word − 15.59 (Kincaid, Fishburne, Rogers and Chissom 1975). It is taken of the owner's text, of what
    is normal, and of each check, remedy and precaution that the lowest person may do.

    Fails:

        owner: {title: Pump, text: Hydraulic depressurisation necessitates verification of residual pressure.}

    Passes:

        owner: {title: Pump, text: Wait until the oil has no pressure left. Then look again.}
    """
    for kind, ident, path, text in _read_by_owners(library):
        found = grade_of(text)
        if found > HIGHEST_GRADE:
            yield Finding(
                library.at(kind, ident, path),
                f"what owners read here is of grade {found:.1f}, the limit is {HIGHEST_GRADE:g}",
                "Shorten the sentences, and take shorter words.",
            )


def _read_by_owners(library: Library) -> Iterator[tuple[str, str, Path, str]]:
    for symptom in library.symptoms.values():
        if symptom.owner:
            yield "symptom", symptom.id, ("owner", "text"), symptom.owner.text
            if symptom.normal:
                yield "symptom", symptom.id, ("normal",), f"{symptom.normal.text} {symptom.normal.limit}"
    for kind, ident, path, action in _actions(library):
        if library.rank(action.who) == 0:
            ask = (action.ask or "") if isinstance(action, Check) else ""
            yield kind, ident, (*path, "steps"), " ".join([ask, *_done(action.steps)])
    for precaution in library.precautions.values():
        if library.rank(precaution.who) == 0:
            yield "precaution", precaution.id, ("steps",), " ".join(_done(precaution.steps))


def _done(steps: tuple[Step, ...]) -> list[str]:
    """The steps as sentences."""
    return [step.do if step.do.endswith((".", "!", "?")) else f"{step.do}." for step in steps]
