"""What is searched: entries of the library as fields of text."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kbtools.applies import limits
from kbtools.library import Library
from kbtools.model import Check, Reviewed, Symptom
from kbtools.search.measured import Scale, scale_of
from kbtools.search.sense import Sense
from kbtools.words import outcome_label, reading_words


@dataclass(frozen=True)
class Document:
    """One entry as the search sees it. `fields` uses the names of `constants.BOOSTS`."""

    kind: str
    id: str
    title: str
    fields: Mapping[str, tuple[str, ...]]
    system: str = ""
    limits: str = ""
    """Units that it is about, as `applies.limits` writes them."""
    sense: Sense | None = None
    scale: Scale | None = None


def symptom_documents(library: Library, *, owner: bool = False) -> list[Document]:
    """The symptoms sorted by id; for owners only those that the owner edition has, under their plain titles."""
    return [_symptom(library, library.symptoms[ident], owner) for ident in _ids(library, "symptom", owner)]


def other_documents(library: Library, *, owner: bool = False) -> list[Document]:
    """Causes, checks, parts and test points, sorted by kind and id; for owners the checks that they may do."""
    checks = [_check(library, library.checks[i]) for i in _ids(library, "check", owner)]
    if owner:
        return [d for d in checks if library.rank(library.checks[d.id].who) == 0]
    causes = [_cause(library, ident) for ident in _ids(library, "cause", owner)]
    parts = [_part(library, ident) for ident in sorted(library.parts)]
    return causes + checks + parts + [_point(library, ident) for ident in sorted(library.points)]


def _ids(library: Library, kind: str, owner: bool) -> list[str]:
    def shown(entry: object) -> bool:
        if not owner:
            return True
        plain = not isinstance(entry, Symptom) or entry.owner is not None
        return plain and isinstance(entry, Reviewed) and entry.status == "reviewed"

    return sorted(ident for ident, entry in library.entries[kind].items() if shown(entry))


def _symptom(library: Library, symptom: Symptom, owner: bool) -> Document:
    causes = library.causes_of(symptom.id)
    plain = (symptom.owner.title,) if symptom.owner else ()
    system = library.systems.get(symptom.system)
    parts = dict.fromkeys(library.parts[c.part].title for c in causes if c.part and c.part in library.parts)
    described = [symptom.notice, symptom.normal.text if symptom.normal else None]
    fields = {
        "title": _given([symptom.title]),
        "phrases": _given([*symptom.heard_as, *symptom.shows, *plain]),
        "description": _given(described),
        "part": _given([system.title if system else None, *parts]),
        "causes": tuple(cause.title for cause in causes),
    }
    title = _line(symptom.owner.title if owner and symptom.owner else symptom.title)
    sense = (symptom.direction.does, symptom.direction.way) if symptom.direction else None
    return Document("symptom", symptom.id, title, fields, symptom.system, limits(symptom.applies_to), sense)


def _cause(library: Library, ident: str) -> Document:
    cause = library.causes[ident]
    part = library.parts.get(cause.part or "")
    fields = {
        "title": _given([cause.title]),
        "description": (cause.explains,),
        "part": _given([part.title if part else None]),
    }
    return Document("cause", ident, _line(cause.title), fields, cause.system, limits(cause.applies_to))


def _check(library: Library, check: Check) -> Document:
    reading = check.reading
    points = [reading.point, *(reading.of or ())] if reading else []
    fields = {
        "title": _given([check.title]),
        "phrases": _given([check.ask, reading_words(library, reading) if reading else None]),
        "description": tuple(outcome_label(check, outcome) for outcome in check.outcomes),
        "part": tuple(library.points[p].title for p in points if p in library.points),
        "causes": tuple(cause.title for cause in library.causes_of_check(check.id)),
    }
    about = limits(check.applies_to)
    return Document("check", check.id, _line(check.title), fields, check.system, about, scale=scale_of(check))


def _part(library: Library, ident: str) -> Document:
    part = library.parts[ident]
    fields = {"title": _given([part.title]), "description": _given([part.where, part.summary, part.rating])}
    return Document("part", ident, _line(part.title), fields, part.system)


def _point(library: Library, ident: str) -> Document:
    point = library.points[ident]
    fields = {"title": _given([point.title]), "description": _given([point.where, point.idle, point.load])}
    return Document("point", ident, _line(point.title), fields, point.system or "")


def _given(texts: Iterable[str | None]) -> tuple[str, ...]:
    return tuple(_line(text) for text in texts if text)


def _line(text: str) -> str:
    """A text on one line, as it is shown."""
    return " ".join(text.split())
