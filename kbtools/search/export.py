"""The index for the browser: two classic scripts with the same words and whole numbers.

assets/search-data.js calls `kbSearch.load({...})` with everything that ranks, assets/search-text.js calls `kbSearch.texts({...})`
with what is shown. Word lists are sorted and joined by spaces, texts are joined by line feeds. Lists of numbers are written in
base 46, low digits first, with printable characters: one half of ALPHABET ends a number, the other says that more follows.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from kbtools.library import Library
from kbtools.search import constants
from kbtools.search.engine import index_of
from kbtools.search.index import Group, Index
from kbtools.search.measured import UNITS

NUMBERS = [
    "AGREES",
    "CONCEPT_WEIGHT",
    "CORRECTED_1",
    "CORRECTED_2",
    "CORRECTIONS",
    "ENOUGH",
    "KNOWN_FROM",
    "LESS_LIKELY",
    "MAX_CHARACTERS",
    "MAX_TOKENS",
    "OPPOSITE",
    "OTHERS",
    "OTHER_START",
    "PART_BONUS",
    "PART_WORD",
    "PREFIXES",
    "PREFIX_OF_KNOWN",
    "PREFIX_WEIGHT",
    "REACH",
    "RESULTS",
    "SHORTEST_CORRECTED",
    "SHORTEST_PREFIX",
    "SHORTEST_STRANGE",
    "SHOWN_FROM",
    "SOUNDS_ALIKE",
    "TWO_EDITS_FROM",
    "UNIT",
]
WORDS = [
    "BREAKS",
    "CIRCUMSTANCE",
    "CONTRAST",
    "DETERMINERS",
    "EMPTY",
    "FAST",
    "HOLD",
    "KEYS",
    "MOTION",
    "NEGATIONS",
    "PARTICLES",
    "SLOW",
    "STOP",
    "STUCK",
    "UNASKED",
    "UP_IDIOMS",
    "VERB_BEFORE",
]
TABLES = ("CONTRACTIONS", "OPPOSITE_STATE", "WAYS")
KINDS = ("symptom", "cause", "check", "part", "point")


ALPHABET = "".join(chr(code) for code in range(32, 127) if chr(code) not in '"\\<')
"""92 characters that need no escape, neither in a script nor in HTML."""
HALF = len(ALPHABET) // 2


def search_scripts(library: Library, path_of: Callable[[str, str], str], *, owner: bool = False) -> dict[str, str]:
    """File name → text of the two scripts. `path_of(kind, id)` is the page of an entry, from the top of the site."""
    return as_scripts(index_of(library, owner=owner), library, path_of)


def as_scripts(index: Index, library: Library, path_of: Callable[[str, str], str]) -> dict[str, str]:
    """The two scripts of an index, with the library's systems for the filter."""
    ranking = export(index) | {
        "systems": [[system.id, system.title] for system in library.systems.values()],
    }
    shown = export_texts(index) | {"pages": {kind: path_of(kind, "*") for kind in KINDS}}
    return {"search-data.js": _script("load", ranking), "search-text.js": _script("texts", shown)}


def _script(function: str, plain: Mapping[str, Any]) -> str:
    text = json.dumps(plain, ensure_ascii=False, separators=(",", ":"))
    return f"kbSearch.{function}({text.translate(_ESCAPED)});\n"


_ESCAPED = {ord("<"): "\\u003c", 0x2028: "\\u2028", 0x2029: "\\u2029"}


def export(index: Index) -> dict[str, Any]:
    """Everything that ranks, in plain lists and texts."""
    lexicon = index.lexicon
    groups = (index.symptoms, index.others)
    terms = sorted({term for group in groups for term in group.postings} | set(lexicon.surfaces.values()))
    number = {term: i for i, term in enumerate(terms)}
    return {
        "revision": index.revision,
        "alphabet": ALPHABET,
        "numbers": {name: getattr(constants, name) for name in NUMBERS},
        "words": {name: " ".join(sorted(getattr(constants, name))) for name in WORDS},
        "tables": {name: dict(getattr(constants, name)) for name in TABLES},
        "units": dict(UNITS),
        "kinds": list(KINDS),
        "symptoms": len(index.symptoms.documents),
        "documents": _columns(groups),
        "terms": " ".join(terms),
        **_postings(groups, terms),
        "surfaces": " ".join(lexicon.surfaces),
        "stems": packed(_steps(number[stem] for stem in lexicon.surfaces.values())),
        "guard": " ".join(sorted(lexicon.guard - set(lexicon.surfaces))),
        "forms": [f"{' '.join(form)}={concept}" for form, concept in lexicon.forms.items()],
        "parts": sorted(lexicon.parts),
        "ways": {concept: dict(ways) for concept, ways in lexicon.ways.items()},
    }


def export_texts(index: Index) -> dict[str, Any]:
    """What is shown: ids, titles, callers' phrases, and the scales of checks by the number of their document."""
    documents = [*index.symptoms.documents, *index.others.documents]
    phrases = [document.fields.get("phrases", ()) if document.kind == "symptom" else () for document in documents]
    return {
        "ids": "\n".join(document.id for document in documents),
        "titles": "\n".join(document.title for document in documents),
        "counts": packed(len(texts) for texts in phrases),
        "phrases": "\n".join(text for texts in phrases for text in texts),
        "scales": {i: [d.scale.unit, d.scale.point, d.scale.ranges] for i, d in enumerate(documents) if d.scale},
    }


def _columns(groups: Sequence[Group]) -> dict[str, Any]:
    """Kind, system, limits, sense and things of every document: a list of different values, and the place of each in it."""
    documents = [document for group in groups for document in group.documents]
    columns: dict[str, list[Any]] = {
        "kind": [KINDS.index(d.kind) for d in documents],
        "system": [d.system for d in documents],
        "limits": [d.limits for d in documents],
        "sense": [list(d.sense or ()) for d in documents],
        "parts": [sorted(parts) for group in groups for parts in group.parts],
    }
    return {name: _column(values) for name, values in columns.items()}


def _column(values: Sequence[Any]) -> list[Any]:
    different: dict[str, int] = {}
    places = [different.setdefault(json.dumps(value), len(different)) for value in values]
    return [[json.loads(value) for value in different], packed(places)]


def _postings(groups: Sequence[Group], terms: Iterable[str]) -> dict[str, str]:
    """For each term and group: how many entries, each entry's distance to the one before, and the impacts, in three lists."""
    rows = [group.postings.get(term, {}) for term in terms for group in groups]
    return {
        "counts": packed(len(row) for row in rows),
        "entries": packed(number - before for row in rows for before, number in zip((0, *row), row, strict=False)),
        "impacts": packed(impact for row in rows for impact in row.values()),
    }


def _steps(numbers: Iterable[int]) -> Iterable[int]:
    """Differences to the number before, doubled, odd when negative: neighbours in the alphabet have neighbouring stems."""
    before = 0
    for number in numbers:
        step = number - before
        yield 2 * step if step >= 0 else -2 * step - 1
        before = number


def packed(numbers: Iterable[int]) -> str:
    """Whole numbers from 0 as text.

    >>> packed([0, 45, 46])
    ' OP!'
    """
    found: list[str] = []
    for number in numbers:
        while number >= HALF:
            found.append(ALPHABET[HALF + number % HALF])
            number //= HALF
        found.append(ALPHABET[number])
    return "".join(found)
