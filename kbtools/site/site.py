"""A manual ready to be written: library, edition, and every page with its body."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property
from types import MappingProxyType

from jinja2 import Environment
from markupsafe import Markup

from kbtools.diagnosis.network import Network
from kbtools.library import Library
from kbtools.model import KINDS, Entry
from kbtools.problem import Position, Problem
from kbtools.search.export import search_scripts
from kbtools.site import codes, trace
from kbtools.site.edition import Edition
from kbtools.site.render import environment, path_of, root_of

CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; worker-src 'self'; "
    "base-uri 'none'; form-action 'none'"
)
"""What a page may load: its own files, and nothing from elsewhere or from inside the text."""


@dataclass(frozen=True)
class Page:
    """One page: where it stands, what it says, and where that was written. `crumbs` are titles and paths of the pages above."""

    path: str
    title: str
    body: Markup
    crumbs: tuple[tuple[str, str], ...] = ()
    source: Position | None = None
    scripts: tuple[str, ...] = ()
    styles: tuple[str, ...] = ()


@dataclass(frozen=True)
class Site:
    """A manual for one edition. `hand_written` are titles and paths of the author's own pages, `problems` go to a banner."""

    library: Library
    edition: Edition
    hand_written: tuple[tuple[str, str], ...] = ()
    problems: tuple[Problem, ...] = ()
    live: bool = False
    networks: Mapping[str, Network] = field(default_factory=dict, repr=False)
    """Symptom → network, in editions whose library does not hold all of it."""
    codes: Mapping[str, codes.CodeTable] = field(default_factory=dict, repr=False)
    """Symptom → what the signs of its traces' short codes stand for."""
    unit_networks: Mapping[str, Mapping[str, Network]] = field(default_factory=dict, repr=False)
    """Symptom → class of units → network, where units have different ones."""
    _environments: dict[str, Environment] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def date(self) -> str:
        """Date of the manual: SOURCE_DATE_EPOCH when it is set, else the content's own."""
        epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
        if epoch.isdigit():
            return datetime.fromtimestamp(int(epoch), UTC).date().isoformat()
        return self.library.manual.revised

    def render(self, template: str, root: str, **context: object) -> Markup:
        """A template of the overrides folder, filled for a page from which `root` leads to the top."""
        if root not in self._environments:
            self._environments[root] = environment(root, self.library, {"backlinks": self.backlinks})
        return Markup(self._environments[root].get_template(template).render(**context))

    def shell(self, page: Page, root: str | None = None) -> str:
        """The whole HTML page around a body."""
        return self.render(
            "kb/owner/shell.html" if self.edition.owner else "kb/shell.html",
            root_of(page.path) if root is None else root,
            page=page,
            site=self,
            csp=CSP,
            edit=edit_link(self.library.manual.edit_base, page.source),
        )

    def backlinks(self, entry: Entry, kind: str, skip: tuple[str, ...] = ()) -> Mapping[str, list[Entry]]:
        """Who names this entry: the key of a kind → its entries, each once; without the keys in `skip`."""
        found: dict[str, dict[str, Entry]] = {}
        for reference in self.library.backlinks(kind, entry.id):
            other = self.library.entries.get(reference.kind, {}).get(reference.id)
            if other is not None and other is not entry:
                found.setdefault(KINDS[reference.kind][0], {})[other.id] = other
        return {plural: list(entries.values()) for plural, entries in found.items() if plural not in skip}


def edit_link(base: str | None, source: Position | None) -> str | None:
    """Address where the page's source can be edited; None without a base that is a web address."""
    if source is None or base is None or not base.startswith(("https://", "http://")):
        return None
    line = f"#L{source.line}" if source.line else ""
    return f"{base.rstrip('/')}/{source.file}{line}"


def pages(site: Site) -> Iterator[Page]:
    """Every generated page of the site, except bare ones (cards)."""
    from kbtools.site import entries, owners, reference

    if site.edition.owner:
        yield from owners.pages(site)
        return
    yield from entries.pages(site)
    yield from reference.pages(site)


def without_checks(library: Library) -> Library:
    """The library for the owners' search: a check is met on its symptom's page only, after what makes safe."""
    return replace(library, entries=MappingProxyType({**library.entries, "check": MappingProxyType({})}))


def bare_pages(site: Site) -> Iterator[tuple[str, str]]:
    """Paths and whole text of what stands without the manual's head and foot: the pages for paper, the search index and the traces' numbers."""
    from kbtools.site import owners, paper

    owner = site.edition.owner
    found = without_checks(site.library) if owner else site.library
    for name, text in search_scripts(found, path_of, owner=owner).items():
        yield f"assets/{name}", text
    yield from trace.scripts(site.library, site.networks, codes.code_json(site.codes), site.unit_networks)
    yield "assets/trace-codes.js", codes.heads_script(site.codes)
    if owner:
        yield from owners.paper(site)
        return
    yield from paper.pages(site)
