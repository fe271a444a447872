"""Pages of the owner edition: home, emergency, and a page for each symptom, all from a library for owners."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from kbtools.diagnosis.network import Network
from kbtools.library import Library
from kbtools.model import Cause, Check, Hazard, Precaution, Remedy, State, Symptom
from kbtools.site.entries import HOME
from kbtools.site.render import path_of, root_of
from kbtools.site.site import Page, Site
from kbtools.site.trace import CODE_SCRIPTS, CODE_STYLES, HOME_SCRIPTS, OWNER_SCRIPTS

CALL = (
    "the type and serial number",
    "which lamps are lit, and how often the red one blinks",
    "what was done just before",
)
"""What the desk asks every owner, whatever the trouble."""

_SENTENCE_END = re.compile(r"(?:(?<=[.!?])|(?<=[.!?][\"”]))\s+(?=[A-Z\"“])")


@dataclass(frozen=True)
class Mending:
    """A remedy that an owner may do, the id of the cause under which it is written, and the causes that it mends here."""

    id: str
    remedy: Remedy
    causes: tuple[Cause, ...]


def pages(site: Site) -> Iterator[Page]:
    """Every page of the owner edition that is not hand-written."""
    library = site.library
    groups = [(system, library.system_symptoms(system.id)) for system in library.systems.values()]
    other = [s for s in library.symptoms.values() if s.system not in library.systems]
    listed = [(system.title, found) for system, found in groups if found] + ([("Other", other)] if other else [])
    home = site.render("kb/owner/home.html", "", groups=listed, site=site)
    yield Page("index.html", library.manual.title, home, scripts=(*HOME_SCRIPTS, *CODE_SCRIPTS), styles=CODE_STYLES)
    yield Page("emergency.html", "Emergency", site.render("kb/emergency_page.html", ""), (HOME,))
    yield from (symptom(site, entry) for entry in library.symptoms.values())


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
        may_mend=bool(mendings) or any(outcome.fixed for check in checks for outcome in check.outcomes.values()),
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


def checks_of(library: Library, network: Network) -> tuple[Check, ...]:
    """The checks that an owner may do, those that settle most per minute first, none before one that it must follow."""

    def worth(number: int) -> float:
        check = network.checks[number]
        told = sum(p * (1 - q) for p, q in zip(network.prior[:-1], check.rows[check.normal], strict=False))
        reach = network.reach_minutes[check.place] if check.place >= 0 else 0.0
        return told / (check.minutes + reach)

    placed: dict[int, Check] = {}

    def place(number: int) -> None:
        for earlier in network.checks[number].only_after:
            if earlier not in placed:
                place(earlier)
        placed.setdefault(number, library.checks[network.checks[number].id])

    known = [i for i, check in enumerate(network.checks) if check.id in library.checks]
    for number in sorted(known, key=lambda i: -worth(i)):
        place(number)
    return tuple(placed.values())


def mendings_of(library: Library, network: Network) -> tuple[Mending, ...]:
    """The remedies that an owner may do for this symptom, those that help most often per minute first."""
    found = []
    for remedy in network.remedies:
        action = library.remedy_of(remedy.id) if remedy.id in library.causes else None
        if action is not None:
            mended = [i for i, cures in enumerate(remedy.cures) if cures]
            causes = tuple(library.causes[network.causes[i]] for i in mended)
            under = library.remedy_owner(remedy.id) or remedy.id
            found.append((sum(network.prior[i] for i in mended) / remedy.minutes, Mending(under, action, causes)))
    return tuple(mending for _, mending in sorted(found, key=lambda pair: -pair[0]))


def follows(library: Library, checks: Iterable[Check]) -> list[Precaution]:
    """The precautions that an answer to these checks calls for, each once."""
    wanted = dict.fromkeys(o.then for check in checks for o in check.outcomes.values() if o.then)
    return [library.precautions[ident] for ident in wanted if ident is not None]


def put_back(library: Library, actions: Iterable[Check | Remedy]) -> list[State]:
    """The states that these actions leave behind and that have to be undone."""
    left = dict.fromkeys(state for action in actions for state in action.leaves)
    return [library.states[state] for state in left if library.states[state].put_back]


def hazards_of_work(library: Library, action: Check | Remedy) -> tuple[Hazard, ...]:
    """The hazards of an action and of all of its steps, most severe first."""
    found = [hazard.id for hazard in library.hazards_of(action)]
    found += [hazard.id for step in action.steps for hazard in library.hazards_of_step(step)]
    return library.most_severe_first(found)
