"""Jinja environments for bodies and shell: autoescaping, strict about unknown names, one per depth of folders."""

from __future__ import annotations

import importlib.resources
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path as FilePath

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

import kbtools
from kbtools import words
from kbtools.applies import limits
from kbtools.library import Library
from kbtools.model import KINDS, Check, Entry, Outcome, Precaution, Remedy, Reviewed
from kbtools.search.wrong import lines_of
from kbtools.site import order, said, scale
from kbtools.site.order import number_of

PAGE_KINDS = ("symptom", "cause", "check", "system")
"""Kinds with a page for each entry; the entries of the others share a page and have an anchor there."""

_KIND_OF = {model: kind for kind, (_, model) in KINDS.items()}


def overrides() -> FilePath:
    """The folder with templates and assets: inside the package when installed, beside it in a checkout."""
    try:
        return FilePath(str(importlib.resources.files("kbtools.site_overrides")))
    except ModuleNotFoundError:
        return FilePath(kbtools.__file__).parent.parent / "site_overrides"


def kind_of(entry: Entry) -> str:
    """The kind of an entry, by its type."""
    return _KIND_OF[type(entry)]


def path_of(kind: str, ident: str) -> str:
    """Path of an entry in the site, from its top.

    >>> path_of("symptom", "corner-sinks"), path_of("place", "cab")
    ('symptoms/corner-sinks.html', 'reference/places.html#cab')
    """
    plural = KINDS[kind][0]
    return f"{plural}/{ident}.html" if kind in PAGE_KINDS else f"reference/{plural}.html#{ident}"


def root_of(path: str) -> str:
    """The way from a page up to the top of the site.

    >>> root_of("index.html"), root_of("causes/x.html")
    ('', '../')
    """
    return "../" * path.count("/")


def units_of(library: Library) -> dict[str, object] | None:
    """What assets/unit.js knows of units: types with their titles, the letters of their serial numbers and how many
    digits follow.

    None where there is nothing to choose: fewer than two types, and nothing limited to some serial numbers.
    """
    limited = (e for table in library.entries.values() for e in table.values() if isinstance(e, Reviewed))
    ranges = any(item.from_ is not None or item.below is not None for entry in limited for item in entry.applies_to)
    if len(library.types) < 2 and not ranges:
        return None
    kinds = library.types.values()
    types = [[kind.id, kind.title, kind.serial_prefix or "", kind.serial_digits] for kind in kinds]
    marked = (kind for kind in kinds if kind.serial_prefix)
    example = next((f"{kind.serial_prefix}{'123456789'[: kind.serial_digits]}" for kind in marked), "")
    return {"types": types, "example": example}


def only(*entries: Entry) -> Markup:
    """Attributes of an element about these entries, from which assets/unit.js tells whether it is about the chosen unit.

    An element about several is shown as long as one of them is; nothing is written when one of them is about all units.
    """
    found = [_limits(entry) for entry in entries]
    if not found or not all(found):
        return Markup("")
    named = " ".join(f"{kind_of(entry)}/{entry.id}" for entry in entries)
    return Markup(' data-applies="{}" data-entry="{}"').format(" ".join(found), named)


def counted(items: Iterable[Sequence[Entry]], one: str, many: str = "") -> Markup:
    """How many items there are, each of them about some entries, in words that assets/unit-page.js counts anew for a unit."""
    listed = [[_limits(entry) for entry in item] for item in items]
    text = said.plural(len(listed), one, many)
    if not any(item and all(item) for item in listed):
        return Markup("{}").format(text)
    counts = "|".join(" ".join(item) if all(item) else "" for item in listed)
    return Markup('<span data-count="{}" data-one="{}" data-many="{}">{}</span>').format(
        counts, one, many or f"{one}s", text
    )


def whole(library: Library, entry: Entry) -> Markup:
    """Attributes of the heading of a page that is about one entry."""
    about = _limits(entry)
    if not about or not isinstance(entry, Reviewed):
        return Markup("")
    shown = words.applies_words(library, entry.applies_to)
    return Markup(' data-page-applies="{}" data-page-words="{}"').format(about, shown)


def _limits(entry: Entry) -> str:
    return limits(entry.applies_to) if isinstance(entry, Reviewed) else ""


def where_written(library: Library, work: Check | Remedy | Precaution) -> Markup:
    """Attribute of a list of steps that tells assets/wrong.js where they are written: "check/rod-mark|12|14 15|18 19|FILE".

    The lines are those of the entry, its steps and its outcomes. Empty in a library for owners, who read no sources.
    """
    if not library.files:
        return Markup("")
    if isinstance(work, Remedy):
        kind, ident = "cause", next(ident for ident, cause in library.causes.items() if cause.remedy is work)
    else:
        kind, ident = kind_of(work), work.id
    file, lines = lines_of(library, kind, ident)
    steps = " ".join(str(line) for part, line in lines.items() if part.startswith("step "))
    outcomes = " ".join(str(line) for part, line in lines.items() if part.startswith("outcome "))
    return Markup(' data-wrong="{}/{}|{}|{}|{}|{}"').format(kind, ident, lines["whole"], steps, outcomes, file)


def environment(root: str, library: Library, more: Mapping[str, object]) -> Environment:
    """An environment for pages from which `root` ("", "../", or an absolute path) leads to the top of the site."""
    env = Environment(
        loader=FileSystemLoader(overrides()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )

    def href(kind: str, ident: str) -> str:
        return root + path_of(kind, ident)

    def link(entry: Entry) -> Markup:
        return Markup('<a href="{}">{}</a>').format(href(kind_of(entry), entry.id), entry.title)

    def links(entries: Iterable[Entry]) -> Markup:
        listed = list(entries)
        if not any(_limits(entry) for entry in listed):
            return Markup(", ").join(map(link, listed))
        items = (Markup("<span{}>{}</span>").format(only(entry), link(entry)) for entry in listed)
        return Markup('<span class="linklist">{}</span>').format(Markup('<span class="sep">, </span>').join(items))

    def wrong(work: Check | Remedy | Precaution) -> Markup:
        return where_written(library, work)

    def known(kind: str, idents: Iterable[str]) -> list[Entry]:
        return [library.entries[kind][ident] for ident in idents if ident in library.entries[kind]]

    def likely(outcome: Outcome, wanted: Iterable[str] | None = None) -> list[tuple[str, str | float]]:
        shown = library.causes.keys() if wanted is None else set(wanted)
        named = [(cause, value) for cause, value in outcome.seen_with.items() if cause in shown]
        return sorted(named, key=lambda pair: -number_of(pair[1]))

    env.globals.update(only=only, whole=whole, counted=counted, wrong=wrong, units=units_of(library))
    env.globals.update(root=root, href=href, link=link, links=links, known=known, kind_of=kind_of, likely=likely)
    env.globals.update(lib=library, words=words, said=said, order=order, scale=scale, KINDS=KINDS, **more)
    return env
