"""A symptom's compiled procedure, kept in the user's cache folder as long as its numbers stay the same."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import platformdirs

from kbtools import diagnosis
from kbtools.applies import Unit
from kbtools.cards.charted import from_chart
from kbtools.cards.owner_steps import short_procedure
from kbtools.cards.procedure import Box, Exit, Procedure, by_proof, reader_of
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.chart import PRUNE, Chart, compile_chart
from kbtools.diagnosis.network import Network, network_key
from kbtools.diagnosis.posterior import State
from kbtools.library import Library

KEPT = 2000
"""Stored procedures; the oldest beyond this are removed."""


def compiled(
    library: Library, symptom: str, who: str = "", folder: Path | None = None, unit: Unit | None = None
) -> Procedure:
    """The procedure of a symptom for a person, by default the one for whom cards are made; with a unit, for that one.

    Without `folder`, the user's cache folder; an unchanged symptom is read from there. A cache that cannot be written or read
    costs time, never the procedure. In a manual without people it is the one by proof.
    """
    who = who or reader_of(library)
    if who not in library.people:
        return by_proof(library, symptom, who)
    return _kept(network_of(library, symptom, unit), State(level=library.rank(who)), who, from_chart, folder)


def compiled_for_owner(network: Network, who: str, folder: Path | None = None) -> Procedure:
    """The short procedure of an owner's network, from the same cache."""
    return _kept(network, State(level=0), who, short_procedure, folder)


def _kept(
    network: Network, state: State, who: str, shape: Callable[[Chart, str], Procedure], folder: Path | None
) -> Procedure:
    root = folder or platformdirs.user_cache_path("kbtools") / "charts"
    place = root / f"{network_key(network)}-{who}-{shape.__name__}-{_code()}.json"
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
        return _procedure(json.loads(place.read_text(encoding="utf-8")))
    found = shape(compile_chart(network, state, PRUNE), who)
    with contextlib.suppress(OSError):
        _save(found, root, place)
    return found


@cache
def _code() -> str:
    """Eight digits of SHA-256 over the code that compiles: another version never reads an older one's procedure."""
    own = Path(__file__).parent
    files = sorted(Path(str(diagnosis.__file__)).parent.glob("*.py"))
    digest = hashlib.sha256()
    for file in (*files, own / "charted.py", own / "owner_steps.py", own / "procedure.py", Path(__file__)):
        digest.update(file.read_bytes())
    return digest.hexdigest()[:8]


def _save(found: Procedure, root: Path, place: Path) -> None:
    root.mkdir(parents=True, exist_ok=True)
    handle, fresh = tempfile.mkstemp(prefix="new-", dir=root)
    with os.fdopen(handle, "w", encoding="utf-8") as stream:
        json.dump(_plain(found), stream)
    Path(fresh).replace(place)
    stored = sorted(root.glob("*.json"), key=lambda path: path.stat().st_mtime, reverse=True)
    for old in stored[KEPT:]:
        old.unlink(missing_ok=True)


def _plain(found: Procedure) -> dict[str, Any]:
    boxes = [
        [box.number, box.kind, box.id, [[e.outcome, e.box, list(e.causes), e.done] for e in box.exits]]
        for box in found.boxes
    ]
    return {"who": found.who, "boxes": boxes, "minutes": found.minutes, "settled": found.settled}


def _procedure(plain: dict[str, Any]) -> Procedure:
    boxes = tuple(
        Box(number, kind, ident, tuple(Exit(outcome, box, tuple(causes), done) for outcome, box, causes, done in exits))
        for number, kind, ident, exits in plain["boxes"]
    )
    return Procedure(plain["who"], boxes, plain["minutes"], plain["settled"])
