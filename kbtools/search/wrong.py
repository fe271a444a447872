"""Notes that something in the manual is wrong: what was said of which step, and where that step stands now."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from kbtools import words
from kbtools.library import Library
from kbtools.model import Check, Path, Precaution, Remedy, Step
from kbtools.problem import Position

KINDS = ("check", "cause", "precaution")
"""Kinds of entries with steps; those of a cause are its remedy's."""

_PART = re.compile(r"whole|step [1-9][0-9]{0,2}|outcome [a-z][a-z0-9-]*")
_LONGEST = 2000

Now = Literal["same", "moved", "changed", "gone"]


@dataclass(frozen=True)
class Remark:
    """One note: of which entry ("check", "rod-mark"), which part ("whole", "step 2", "outcome creeps"), its words then, and what was said."""

    kind: str
    id: str
    part: str
    words: str
    said: str


@dataclass(frozen=True)
class Wrong:
    """Everything that was said of one part, most often first, with the part's place and words as they are now.

    `now` is same; moved, when the words stand in another step; changed, when they stand nowhere; gone, when the entry
    or its part is no more. Then there is no position of the part.
    """

    remark: Remark
    now: Now
    at: Position | None
    title: str
    words: str
    said: tuple[tuple[str, int], ...]


def remarks_of(data: object) -> list[Remark]:
    """The notes in a saved file's list; what is not one is passed over. Signs that no terminal should get are replaced.

    A note is {"entry": "check/rod-mark", "part": "step 2", "words": its text, "said": text}.
    """
    found = []
    for note in data if isinstance(data, list) else []:
        if not isinstance(note, dict):
            continue
        texts = [note.get(key) for key in ("entry", "part", "words", "said")]
        if not all(isinstance(text, str) for text in texts):
            continue
        entry, part, then, said = (plain(str(text)) for text in texts)
        kind, _, ident = entry.partition("/")
        if kind in KINDS and said and _PART.fullmatch(part):
            found.append(Remark(kind, ident, part, then, said))
    return found


def placed(library: Library, remarks: Iterable[Remark]) -> list[Wrong]:
    """The notes by part, in the order of files and lines; what stands nowhere any more comes last."""
    groups: dict[tuple[str, ...], list[Remark]] = {}
    for remark in remarks:
        groups.setdefault((remark.kind, remark.id, remark.part, remark.words), []).append(remark)
    found = [_placed(library, group) for group in groups.values()]

    def order(wrong: Wrong) -> tuple[bool, str, int]:
        return (wrong.at is None, wrong.at.file if wrong.at else "", (wrong.at.line or 0) if wrong.at else 0)

    return sorted(found, key=order)


def _placed(library: Library, group: Sequence[Remark]) -> Wrong:
    remark = group[0]
    said = tuple(Counter(one.said for one in group).most_common())
    entry = library.entries[remark.kind].get(remark.id)
    title = getattr(entry, "title", remark.id)
    parts = _parts(library, remark.kind, remark.id)
    if remark.part not in parts:
        moved = next((part for part, (_, text) in parts.items() if _same(text, remark.words)), None)
        if moved is None:
            return Wrong(remark, "gone", None, title, "", said)
        return _found(library, remark, moved, "moved", title, said)
    if remark.part == "whole" or _same(parts[remark.part][1], remark.words):
        return _found(library, remark, remark.part, "same", title, said)
    moved = next((part for part, (_, text) in parts.items() if _same(text, remark.words)), None)
    return _found(library, remark, moved or remark.part, "moved" if moved else "changed", title, said)


def _found(
    library: Library, remark: Remark, part: str, now: Now, title: str, said: tuple[tuple[str, int], ...]
) -> Wrong:
    path, text = _parts(library, remark.kind, remark.id)[part]
    here = Remark(remark.kind, remark.id, part, remark.words, remark.said)
    return Wrong(here, now, library.at(remark.kind, remark.id, path, key=True), title, text, said)


def _parts(library: Library, kind: str, ident: str) -> dict[str, tuple[Path, str]]:
    """Part of an entry → its path in the file and its words; nothing for an entry that is not there."""
    entry = library.entries[kind].get(ident)
    if isinstance(entry, Check):
        outcomes = {f"outcome {o}": (("outcomes", o), words.outcome_words(entry, o)) for o in entry.outcomes}
        return {"whole": ((), entry.title)} | _steps((), entry.steps) | outcomes
    if isinstance(entry, Precaution):
        return {"whole": ((), entry.title)} | _steps((), entry.steps)
    if entry is not None and isinstance(remedy := library.causes[ident].remedy, Remedy):
        return {"whole": (("remedy",), library.causes[ident].title)} | _steps(("remedy",), remedy.steps)
    return {}


def _steps(path: Path, steps: Sequence[Step]) -> dict[str, tuple[Path, str]]:
    return {f"step {n + 1}": ((*path, "steps", n), step.do) for n, step in enumerate(steps)}


def lines_of(library: Library, kind: str, ident: str) -> tuple[str, dict[str, int]]:
    """File of an entry with steps, and each part of it → its line, from 1.

    Raises KeyError for an entry that is not there.
    """
    found = {part: library.at(kind, ident, path, key=True) for part, (path, _) in _parts(library, kind, ident).items()}
    return found["whole"].file, {part: position.line or 1 for part, position in found.items()}


def _same(one: str, other: str) -> bool:
    return " ".join(one.split()) == " ".join(other.split())


def plain(text: str) -> str:
    """A text of somebody else on one line, of at most 2,000 signs, without those that no terminal should get."""
    signs = (sign if sign.isprintable() else "\ufffd" for sign in " ".join(text[:_LONGEST].split()))
    return "".join(signs)
