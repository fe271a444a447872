"""Pages that are made to be printed: quick cards, a binder of them for each system, a record sheet for each symptom."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.cards import card
from kbtools.cards.binder import binder
from kbtools.cards.compiled import compiled
from kbtools.site.entries import put_back_of
from kbtools.site.site import Site
from kbtools.site.trace import checks_of
from kbtools.site.units import for_units


def pages(site: Site) -> Iterator[tuple[str, str]]:
    """Path and whole text of every page for paper."""
    library = site.library
    cards = {ident: card(library, ident, compiled(library, ident), site.date) for ident in library.symptoms}
    for ident, found in cards.items():
        yield f"cards/{ident}.html", str(site.render("kb/card.html", "../", card=found))
        yield f"records/{ident}.html", record(site, ident)
        for units in for_units(site, ident):
            only = card(library, ident, units.procedure, site.date, units.limit)
            yield f"cards/{ident}.{units.name}.html", str(site.render("kb/card.html", "../", card=only))
    for system in library.systems:
        own = [cards[symptom.id] for symptom in library.system_symptoms(system)]
        if own:
            bound = binder(library, system, own, site.date)
            yield f"binders/{system}.html", str(site.render("kb/binder.html", "../", binder=bound, site=site))


def record(site: Site, symptom: str) -> str:
    """The sheet on which the readings of a symptom's checks are written down."""
    library = site.library
    checks = checks_of(library, symptom)
    return str(
        site.render(
            "kb/record.html",
            "../",
            entry=library.symptoms[symptom],
            checks=checks,
            put_back=put_back_of(library, checks),
            site=site,
        )
    )
