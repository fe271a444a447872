"""Pages of the owner edition: home, emergency, and a page for each symptom, all from a library for owners."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from kbtools.cards.binder import bound
from kbtools.cards.boxes import hazards_of_work
from kbtools.cards.compiled import compiled_for_owner
from kbtools.cards.owner_card import CALL, OwnerCard, owner_card
from kbtools.cards.owner_steps import checks_of, may_mend, mendings_of
from kbtools.library import Library
from kbtools.model import Check, Precaution, Remedy, State, Symptom
from kbtools.site.entries import HOME
from kbtools.site.render import path_of, root_of
from kbtools.site.site import Page, Site
from kbtools.site.trace import CODE_SCRIPTS, CODE_STYLES, HOME_SCRIPTS, OWNER_SCRIPTS

BINDER = "cards.html"
"""Every card of the manual in one print job."""

_SENTENCE_END = re.compile(r"(?:(?<=[.!?])|(?<=[.!?][\"”]))\s+(?=[A-Z\"“])")


def pages(site: Site) -> Iterator[Page]:
    """Every page of the owner edition that is not hand-written."""
    library = site.library
    home = site.render("kb/owner/home.html", "", groups=groups(library), site=site)
    yield Page("index.html", library.manual.title, home, scripts=(*HOME_SCRIPTS, *CODE_SCRIPTS), styles=CODE_STYLES)
    yield Page("emergency.html", "Emergency", site.render("kb/emergency_page.html", ""), (HOME,))
    yield from (symptom(site, entry) for entry in library.symptoms.values())


def groups(library: Library) -> list[tuple[str, str, list[Symptom]]]:
    """Id and title of each system that has symptoms, with them; those without a system last, under an empty id."""
    listed = [(s.id, s.title, list(library.system_symptoms(s.id))) for s in library.systems.values()]
    other = [s for s in library.symptoms.values() if s.system not in library.systems]
    return [group for group in (*listed, ("", "Other", other)) if group[2]]


def paper(site: Site) -> Iterator[tuple[str, str]]:
    """Path and whole text of every card, of a binder of them for each system, and of one for the whole manual."""
    library, cards = site.library, dict[str, OwnerCard]()
    who = next(iter(library.people), "")
    for ident, network in site.networks.items():
        cards[ident] = owner_card(library, network, ident, compiled_for_owner(network, who), site.date)
        yield f"cards/{ident}.html", str(site.render("kb/owner/card.html", "../", card=cards[ident]))
    found = groups(library)
    for system, title, symptoms in found:
        if system:
            yield f"binders/{system}.html", _binder(site, title, [cards[s.id] for s in symptoms], "../")
    if cards:
        every = [cards[s.id] for _, _, symptoms in found for s in symptoms]
        yield BINDER, _binder(site, library.manual.title, every, "")


def _binder(site: Site, title: str, cards: list[OwnerCard], root: str) -> str:
    found = bound(site.library, title, cards, site.date, path="index.html")
    return str(site.render("kb/binder.html", root, binder=found, site=site))


def symptom(site: Site, entry: Symptom) -> Page:
    """Make safe, what it means, what is normal, what the owner may check and mend, and when to call."""
    library, network = site.library, site.networks[entry.id]
    checks, mendings = checks_of(library, network), mendings_of(library, network)
    path = path_of("symptom", entry.id)
    opening = {hazard for p in entry.first for hazard in library.precautions[p].hazards}
    body = site.render(
        "kb/owner/symptom.html",
        root_of(path),
        entry=entry,
        says=sentences(entry.owner.text if entry.owner else ""),
        hazards=[hazard for hazard in library.hazards_of_symptom(entry.id) if hazard.id not in opening],
        checks=checks,
        mendings=mendings,
        may_mend=may_mend(checks, mendings),
        follows=follows(library, checks),
        put_back=put_back(library, [*checks, *(found.remedy for found in mendings)]),
        hazards_of_work=hazards_of_work,
        call=CALL,
    )
    return Page(path, entry.title, body, (HOME,), scripts=(f"trace/{entry.id}.js", *OWNER_SCRIPTS))


def sentences(text: str) -> list[str]:
    """The sentences of a text, each to stand on a line of its own.

    >>> sentences("Press STOP. Is it dark? Call us.")
    ['Press STOP.', 'Is it dark?', 'Call us.']
    """
    return [part for part in _SENTENCE_END.split(" ".join(text.split())) if part]


def follows(library: Library, checks: Iterable[Check]) -> list[Precaution]:
    """The precautions that an answer to these checks calls for, each once."""
    wanted = dict.fromkeys(o.then for check in checks for o in check.outcomes.values() if o.then)
    return [library.precautions[ident] for ident in wanted if ident is not None]


def put_back(library: Library, actions: Iterable[Check | Remedy]) -> list[State]:
    """The states that these actions leave behind and that have to be undone."""
    left = dict.fromkeys(state for action in actions for state in action.leaves)
    return [library.states[state] for state in left if library.states[state].put_back]
