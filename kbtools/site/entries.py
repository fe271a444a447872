"""Home, emergency page, and the pages of symptoms, causes, checks and systems."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from kbtools.cards.compiled import compiled
from kbtools.library import Library
from kbtools.model import Action, Cause, Check, Entry, Hazard, Precaution, Remedy, Reviewed, State, Symptom, System
from kbtools.site import order
from kbtools.site.render import path_of, root_of
from kbtools.site.site import Page, Site
from kbtools.site.trace import CODE_SCRIPTS, HOME_SCRIPTS, SCRIPTS, STYLES, checks_of, points_of, tools_of
from kbtools.site.units import as_all, for_units

E = TypeVar("E", bound=Entry)

HOME = ("Contents", "index.html")
SECTIONS = (
    ("safe", "Make safe first"),
    ("trace", "Fault trace"),
    ("what", "What it is"),
    ("causes", "Likely causes"),
    ("chart", "Procedure on paper"),
    ("checks", "All checks"),
    ("remedies", "Remedies"),
    ("put-back", "Put back"),
    ("related", "Related"),
)
"""Sections of a symptom's page, in order: anchor and title."""

UNFOLDED = 3
"""Checks and remedies whose titles stand on a symptom's page; those of the rest, less telling or rarer, are folded away."""


def pages(site: Site) -> Iterator[Page]:
    """Home, emergency and a page for each symptom, cause, check and system."""
    library = site.library
    yield home(site)
    yield emergency(site)
    yield from (symptom(site, entry) for entry in library.symptoms.values())
    yield from (cause(site, entry) for entry in library.causes.values())
    yield from (check(site, entry) for entry in library.checks.values())
    yield from (system(site, entry) for entry in library.systems.values())


def home(site: Site) -> Page:
    """The manual's contents: systems with their symptoms."""
    groups = [(entry, site.library.system_symptoms(entry.id)) for entry in site.library.systems.values()]
    other = [s for s in site.library.symptoms.values() if s.system not in site.library.systems]
    body = site.render("kb/home.html", "", site=site, groups=groups, other=other)
    where = site.library.at("manual", "manual")
    return Page("index.html", site.library.manual.title, body, (), where, (*HOME_SCRIPTS, *CODE_SCRIPTS), STYLES)


def emergency(site: Site) -> Page:
    """What to do at once when somebody is or may be hurt."""
    body = site.render("kb/emergency_page.html", "")
    return Page("emergency.html", "Emergency", body, (HOME,), site.library.at("manual", "manual", ("emergency",)))


def symptom(site: Site, entry: Symptom) -> Page:
    """What it is, how to be safe, what can be behind it, and how that is found and mended."""
    library = site.library
    shares = order.shares(library, entry.id)
    checks = checks_of(library, entry.id)
    causes = [s.cause for s in shares if s.cause is not None]
    remedies = _remedies(library, causes)
    work: list[Action] = [*checks, *(remedy for _, remedy, _ in remedies)]
    put_back = put_back_of(library, work)
    opening = [hazard for p in entry.first if p in library.precautions for hazard in library.precautions[p].hazards]
    hazards = [hazard for hazard in library.hazards_of_symptom(entry.id) if hazard.id not in opening]
    shown = {*opening, *(hazard.id for hazard in hazards)}
    work_hazards = [hazard for hazard in _work_hazards(library, work) if hazard.id not in shown]
    related = library.related(entry.id)
    present = {
        "safe": entry.first or entry.stop_if or hazards,
        "put-back": put_back,
        "related": related or site.backlinks(entry, "symptom"),
    }
    return _page(
        site,
        "symptom",
        entry,
        sections=[(ident, title) for ident, title in SECTIONS if present.get(ident, True)],
        shares=shares,
        checks=checks,
        UNFOLDED=UNFOLDED,
        causes=causes,
        remedies=remedies,
        hazards=hazards,
        work_hazards=work_hazards,
        put_back=put_back,
        related=related,
        follows=_follows(library, entry, checks),
        places=_known(library.places, (action.place for action in work)),
        points=_known(library.points, (point for check in checks for point in points_of(check))),
        procedure=compiled(library, entry.id),
        for_units=for_units(site, entry.id),
        as_all=as_all(site, entry.id),
        work_hazards_of=lambda action: _work_hazards(library, [action]),
        trace_tools=_known(library.tools, (tool for action in work for tool in tools_of(action))),
    )


def cause(site: Site, entry: Cause) -> Page:
    """What it explains, how it is proven and how it is mended."""
    library = site.library
    owner = library.remedy_owner(entry.id)
    symptoms = [
        (found, share.probability)
        for found in library.symptoms_of_cause(entry.id)
        for share in order.shares(library, found.id)
        if share.cause is entry
    ]
    proofs = [
        (found, ident, outcome.seen_with[entry.id])
        for found in library.checks_of_cause(entry.id)
        for ident, outcome in found.outcomes.items()
        if entry.id in outcome.seen_with
    ]
    remedy = library.remedy_of(entry.id)
    return _page(
        site,
        "cause",
        entry,
        symptoms=symptoms,
        proofs=proofs,
        remedy=remedy,
        remedy_owner=library.causes[owner] if owner and owner != entry.id else None,
        hazards=_work_hazards(library, [remedy] if remedy else []),
    )


def check(site: Site, entry: Check) -> Page:
    """How it is done, what each outcome means, which causes it can prove and which symptoms use it."""
    library = site.library
    return _page(
        site,
        "check",
        entry,
        causes=library.causes_of_check(entry.id),
        symptoms=library.symptoms_of_check(entry.id),
        hazards=_work_hazards(library, [entry]),
    )


def system(site: Site, entry: System) -> Page:
    """Its symptoms, parts and test points."""
    library = site.library
    body = site.render(
        "kb/system.html",
        "../",
        entry=entry,
        symptoms=library.system_symptoms(entry.id),
        parts=[part for part in library.parts.values() if part.system == entry.id],
        points=[point for point in library.points.values() if point.system == entry.id],
        checks=[found for found in library.checks.values() if found.system == entry.id],
        causes=[found for found in library.causes.values() if found.system == entry.id],
    )
    return Page(path_of("system", entry.id), entry.title, body, (HOME,), library.at("system", entry.id, key=True))


def _page(site: Site, kind: str, entry: Reviewed, **context: object) -> Page:
    path = path_of(kind, entry.id)
    body = site.render(f"kb/{kind}.html", root_of(path), entry=entry, **context)
    above = site.library.systems.get(entry.system)
    crumbs = (HOME, (above.title, path_of("system", above.id))) if above else (HOME,)
    where = site.library.at(kind, entry.id, key=True)
    if kind != "symptom":
        return Page(path, entry.title, body, crumbs, where)
    return Page(
        path, entry.title, body, crumbs, where, ("fold.js", f"trace/{entry.id}.js", *SCRIPTS), ("fold.css", *STYLES)
    )


def _remedies(library: Library, causes: list[Cause]) -> list[tuple[Cause, Remedy, list[Cause]]]:
    """Each remedy of these causes once: the cause under which it is written, the remedy, the causes that it mends here."""
    found: dict[str, tuple[Cause, Remedy, list[Cause]]] = {}
    for entry in causes:
        owner, remedy = library.remedy_owner(entry.id), library.remedy_of(entry.id)
        if owner is not None and remedy is not None:
            found.setdefault(owner, (library.causes[owner], remedy, []))[2].append(entry)
    return list(found.values())


def _work_hazards(library: Library, actions: Sequence[Action]) -> tuple[Hazard, ...]:
    """Hazards of these actions and of their steps, each once, most severe first."""
    found: list[str] = []
    for action in actions:
        found += [hazard.id for hazard in library.hazards_of(action)]
        found += [hazard.id for step in action.steps for hazard in library.hazards_of_step(step)]
    return library.most_severe_first(found)


def put_back_of(library: Library, actions: Sequence[Action]) -> list[State]:
    """States that these actions leave behind and that have to be undone."""
    left = dict.fromkeys(state for action in actions for state in action.leaves)
    return [library.states[state] for state in left if state in library.states and library.states[state].put_back]


def _follows(library: Library, entry: Symptom, checks: Sequence[Check]) -> list[Precaution]:
    """Precautions that an outcome of these checks calls for and that the page's opening does not hold already."""
    wanted = (outcome.then for check in checks for outcome in check.outcomes.values() if outcome.then)
    return [found for found in _known(library.precautions, wanted) if found.id not in entry.first]


def _known(table: Mapping[str, E], idents: Iterable[str]) -> list[E]:
    """The entries with these ids, each once; ids that lead nowhere are skipped."""
    return [table[ident] for ident in dict.fromkeys(idents) if ident in table]
