"""The index for the browser: one classic script with the same words and whole numbers.

The script calls `kbSearch.load({...})`. Word lists are sorted and joined by spaces; lists of numbers are variable-length
integers (seven bits a byte, the low ones first, the eighth bit set when more follow) in base64.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from kbtools.library import Library
from kbtools.search import constants
from kbtools.search.documents import Document
from kbtools.search.engine import index_of
from kbtools.search.index import Group, Index
from kbtools.search.measured import UNITS
from kbtools.search.review import KIND

NUMBERS = [
    "CONCEPT_WEIGHT",
    "CORRECTED_1",
    "CORRECTED_2",
    "CORRECTIONS",
    "MAX_CHARACTERS",
    "MAX_TOKENS",
    "OPPOSITE",
    "OTHERS",
    "OTHER_START",
    "PART_BONUS",
    "PREFIXES",
    "PREFIX_OF_KNOWN",
    "PREFIX_WEIGHT",
    "REACH",
    "RESULTS",
    "SHORTEST_CORRECTED",
    "SHORTEST_PREFIX",
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


def search_script(library: Library, path_of: Callable[[str, str], str], *, owner: bool = False) -> str:
    """The text of assets/search-data.js. `path_of(kind, id)` is the page of an entry, from the top of the site."""
    plain = export(index_of(library, owner=owner), path_of)
    plain["systems"] = [[system.id, system.title] for system in library.systems.values()]
    plain["types"] = [[kind.id, kind.title] for kind in library.types.values()]
    text = json.dumps(plain, ensure_ascii=False, separators=(",", ":"))
    return f"kbSearch.load({text.translate(_ESCAPED)});\n"


_ESCAPED = {ord("<"): "\\u003c", 0x2028: "\\u2028", 0x2029: "\\u2029"}


def export(index: Index, path_of: Callable[[str, str], str]) -> dict[str, Any]:
    """Everything the browser needs, in plain lists and texts."""
    lexicon = index.lexicon
    groups = (index.symptoms, index.others)
    terms = sorted({term for group in groups for term in group.postings} | set(lexicon.surfaces.values()))
    number = {term: i for i, term in enumerate(terms)}
    return {
        "revision": index.revision,
        "notes": KIND,
        "numbers": {name: getattr(constants, name) for name in NUMBERS},
        "words": {name: " ".join(sorted(getattr(constants, name))) for name in WORDS},
        "tables": {name: dict(getattr(constants, name)) for name in TABLES},
        "units": dict(UNITS),
        "kinds": list(KINDS),
        "symptoms": len(index.symptoms.documents),
        "documents": [_row(d, parts, path_of) for g in groups for d, parts in zip(g.documents, g.parts, strict=True)],
        "terms": " ".join(terms),
        "postings": _base64(_postings(groups, terms)),
        "surfaces": " ".join(lexicon.surfaces),
        "stems": _base64(number[stem] for stem in lexicon.surfaces.values()),
        "guard": " ".join(sorted(lexicon.guard - set(lexicon.surfaces))),
        "forms": [f"{' '.join(form)}={concept}" for form, concept in lexicon.forms.items()],
        "parts": sorted(lexicon.parts),
        "ways": {concept: dict(ways) for concept, ways in lexicon.ways.items()},
    }


def _row(document: Document, parts: frozenset[str], path_of: Callable[[str, str], str]) -> list[Any]:
    """Kind, id, title, page, system, types, sense, things, phrases, scale; empty ones at the end left out."""
    scale = document.scale
    row: list[Any] = [
        KINDS.index(document.kind),
        document.id,
        document.title,
        path_of(document.kind, document.id),
        document.system,
        list(document.types),
        list(document.sense or ()),
        sorted(parts),
        list(document.fields.get("phrases", ())) if document.kind == "symptom" else [],
        [scale.unit, list(scale.point), [list(one) for one in scale.ranges]] if scale else [],
    ]
    while row[-1] in ("", []):
        row.pop()
    return row


def _postings(groups: Sequence[Group], terms: Iterable[str]) -> Iterable[int]:
    """For each term and group: how many entries, then each entry's distance to the one before and its impact."""
    for term in terms:
        for group in groups:
            row: Mapping[int, int] = group.postings.get(term, {})
            yield len(row)
            before = 0
            for number, impact in row.items():
                yield number - before
                yield impact
                before = number


def _base64(numbers: Iterable[int]) -> str:
    packed = bytearray()
    for number in numbers:
        while number > 127:
            packed.append(number & 127 | 128)
            number >>= 7
        packed.append(number)
    return base64.b64encode(bytes(packed)).decode()
