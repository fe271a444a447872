"""Reference pages: one for each kind of equipment, the fields of the content model, the rules, and what traces take."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.cards import reader_of
from kbtools.cards.compiled import compiled
from kbtools.model import KINDS
from kbtools.rules import RULES
from kbtools.site.authors import blocks, described_models
from kbtools.site.entries import HOME
from kbtools.site.site import Page, Site

KIND_TITLES = {
    "type": "Types",
    "person": "People",
    "place": "Places",
    "tool": "Tools",
    "hazard": "Hazards",
    "precaution": "Precautions",
    "part": "Parts",
    "point": "Test points",
    "state": "States",
}
"""Kinds with a reference page, and its title."""

REFERENCE = ("Reference", "reference/index.html")


def pages(site: Site) -> Iterator[Page]:
    """The overview, a page for each kind of equipment, and the pages for authors: fields and rules."""
    listed = [
        (title, f"reference/{KINDS[kind][0]}.html", len(site.library.entries[kind]))
        for kind, title in KIND_TITLES.items()
    ]
    body = site.render("kb/reference.html", "../", listed=listed)
    yield Page(REFERENCE[1], REFERENCE[0], body, (HOME,))
    for kind, title in KIND_TITLES.items():
        yield kind_page(site, kind, title)
    body = site.render("kb/fields.html", "../", models=described_models())
    yield Page("reference/fields.html", "Fields of the content files", body, (HOME, REFERENCE))
    listed_rules = sorted(RULES.values(), key=lambda rule: rule.id)
    body = site.render("kb/rules.html", "../", rules=listed_rules, blocks=blocks)
    yield Page("reference/rules.html", "Rules", body, (HOME, REFERENCE))
    yield traces_page(site)


def traces_page(site: Site) -> Page:
    """What each symptom's compiled procedure takes: exact expectation, the share that it settles, its boxes."""
    rows = [(symptom, compiled(site.library, symptom.id)) for symptom in site.library.symptoms.values()]
    rows.sort(key=lambda row: -(row[1].minutes or 0))
    body = site.render("kb/traces.html", "../", rows=rows, who=reader_of(site.library))
    return Page("reference/traces.html", "What a trace takes", body, (HOME, REFERENCE))


def kind_page(site: Site, kind: str, title: str) -> Page:
    """All entries of one kind, each with an anchor, what it says and who names it."""
    plural, about = KINDS[kind]
    entries = list(site.library.entries[kind].values())
    body = site.render("kb/kind.html", "../", kind=kind, title=title, about=about.__doc__ or "", entries=entries)
    first = site.library.at(kind, entries[0].id, key=True) if entries else None
    return Page(f"reference/{plural}.html", title, body, (HOME, REFERENCE), first)
