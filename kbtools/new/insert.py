"""Puts lines into a YAML file as an author would: at the end of a section, with every other character left as it is."""

from __future__ import annotations

import re

from kbtools.source import Document, parse

_ROW = re.compile(r"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+$")
"""A line with its end."""


class NoPlace(Exception):  # noqa: N818
    """Why an entry cannot be added to a text, in a sentence."""


def with_entry(text: str, name: str, section: str, lines: list[str]) -> tuple[str, int]:
    """The text with the entry `lines` at the end of the top-level mapping `section`, and the entry's line, from 1.

    A section that is missing is added at the end. Comments, blank lines, indentation and line ends stay as they are. The result
    is read again: it holds what stood there before and the entry, or NoPlace is raised, as it is for a text that is not YAML.
    """
    document, problems = parse(text, name)
    empty = document is None or document.data is None
    if (document is None or problems) and not _blank(text):
        raise NoPlace(f"{name} cannot be read as YAML; mend it first ({problems[0].position}: {problems[0].message})")
    data = {} if empty or document is None else document.data
    if not isinstance(data, dict) or not isinstance(data.get(section) or {}, dict):
        raise NoPlace(f"{name} does not hold a mapping where {section} should stand; mend it first")
    wanted = {**data, section: {**(data.get(section) or {}), **_parsed(lines)}}
    for at, new in _candidates(text, None if empty else document, section, lines):
        after, _ = parse(new, name)
        if after is not None and after.data == wanted and list(after.data[section]) == list(wanted[section]):
            return new, at
    raise NoPlace(f"{section} in {name} is not written as one entry below the other; write it so first")


def _candidates(text: str, document: Document | None, section: str, lines: list[str]) -> list[tuple[int, str]]:
    """Texts with the entry, likeliest first, and the line of the entry in each."""
    end = "\r\n" if "\r\n" in text else "\n"
    rows = _ROW.findall(text)
    if rows and not rows[-1].endswith(("\n", "\r")):
        rows[-1] += end
    last = len(rows) - 1 if rows and rows[-1].strip() == "..." else len(rows)
    if document is None or (section,) not in document.keys:
        block = [*([""] if last else []), f"{section}:", *_indented(lines, "  ")]
        stops = [last]
    else:
        indent, spaced = _indent(document, section), bool(document.data.get(section))
        block = [*([""] if spaced else []), *_indented(lines, indent)]
        stops = _ends(rows, last, document, section)
    offset = next(i for i, row in enumerate(block) if row.strip() == lines[0]) + 1
    added = [line + end for line in block]
    return [(stop + offset, "".join([*rows[:stop], *added, *rows[stop:]])) for stop in stops]


def _ends(rows: list[str], last: int, document: Document, section: str) -> list[int]:
    """Rows before which the section ends: before the blank lines and comments that lead to the next one, or after them."""
    start = document.keys[section,][0]
    following = [line - 1 for path, (line, _) in document.keys.items() if len(path) == 1 and line > start]
    bound = min(following, default=last)
    trimmed = bound
    while trimmed > start and (not rows[trimmed - 1].strip() or rows[trimmed - 1].startswith("#")):
        trimmed -= 1
    return list(dict.fromkeys([trimmed, bound]))


def _indent(document: Document, section: str) -> str:
    """The indentation of the section's entries."""
    columns = [column for path, (_, column) in document.keys.items() if len(path) == 2 and path[0] == section]
    return " " * (columns[0] - 1 if columns else 2)


def _indented(lines: list[str], indent: str) -> list[str]:
    return [indent + line for line in lines]


def _parsed(lines: list[str]) -> dict[str, object]:
    document, problems = parse("\n".join(lines) + "\n", "new entry")
    assert document is not None and not problems, problems
    found: dict[str, object] = document.data
    return found


def _blank(text: str) -> bool:
    """Nothing but comments and white space."""
    return all(not row.strip() or row.lstrip().startswith("#") for row in text.splitlines())
