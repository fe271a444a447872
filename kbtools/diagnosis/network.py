"""The numbers of one symptom: causes, checks, remedies, places and levels, without a word of text.

Everything a diagnosis needs is held in frozen objects whose order is the order of the files. Causes, checks,
remedies, places and levels are known by their position; ids are kept beside them for whoever shows a result.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

UNLISTED = "unlisted"
NOWHERE = -1


@dataclass(frozen=True)
class Check:
    """One check: what it costs and what each outcome says.

    ``rows[outcome][cause]`` is P(outcome | cause); each cause's column sums to 1. ``fixes[outcome][cause]``
    is true where seeing the outcome means that the check itself cured that cause (empty: it cures nothing).
    ``only_after`` names checks by position that must be answered before this one may be done.
    """

    id: str
    minutes: float
    rows: tuple[tuple[float, ...], ...]
    outcomes: tuple[str, ...]
    normal: int = 0
    place: int = NOWHERE
    level: int = 0
    fixes: tuple[tuple[bool, ...], ...] = ()
    only_after: tuple[int, ...] = ()
    only_while_faulty: bool = False


@dataclass(frozen=True)
class Remedy:
    """One remedy with its proof: ``cures[cause]`` is the probability that it mends that cause.

    ``id`` is the id of the (first) cause it belongs to; one remedy may cure several causes.
    """

    id: str
    minutes: float
    cures: tuple[float, ...]
    place: int = NOWHERE
    level: int = 0
    only_after: tuple[int, ...] = ()


@dataclass(frozen=True)
class Level:
    """One kind of person; a higher position may do more. ``visit_minutes``: what it takes to bring them."""

    id: str
    visit_minutes: float = 0.0


@dataclass(frozen=True)
class Network:
    """One symptom as numbers. The last cause is ``unlisted``; ``prior`` sums to 1 in the order of ``causes``.

    ``reach_minutes`` holds one number per place; ``unsolved_minutes`` is the price of a trace that ends
    with nobody left to hand over to. Raises ValueError when shapes or sums do not fit.
    """

    causes: tuple[str, ...]
    prior: tuple[float, ...]
    checks: tuple[Check, ...]
    remedies: tuple[Remedy, ...]
    reach_minutes: tuple[float, ...] = ()
    levels: tuple[Level, ...] = (Level("technician"),)
    unsolved_minutes: float = 240.0

    def __post_init__(self) -> None:
        problem = _misfit(self)
        if problem:
            raise ValueError(problem)

    @cached_property
    def arrays(self) -> Arrays:
        """The same numbers as arrays, made once."""
        return _arrays(self)

    @property
    def top(self) -> int:
        """The position of the highest level."""
        return len(self.levels) - 1


@dataclass(frozen=True)
class Arrays:
    """Numpy view of a network: K checks of at most O outcomes, R remedies, C causes, P places."""

    prior: Floats  # C
    rows: Floats  # K O C, rows of missing outcomes are 0
    keeps: Floats  # K O C, P(outcome, not cured by the check | cause)
    check_minutes: Floats  # K
    check_place: Ints  # K, nowhere is P
    check_level: Ints  # K
    check_gates: Bools  # K K, [check, needed check]
    remedy_minutes: Floats  # R
    remedy_place: Ints  # R
    remedy_level: Ints  # R
    remedy_gates: Bools  # R K, with the checks that those checks need
    cures: Floats  # R C
    reach: Floats  # P + 1, the last is 0
    disjoint: bool  # every cause is cured by one remedy at most, and for sure
    own_cause: Ints | None  # R, the one cause of each remedy; None where some remedy has more or fewer
    remedies_at: tuple[tuple[int, Ints], ...]  # the remedies of each place that takes time to reach
    floors: tuple[Floats, ...]  # per level C: no remedy order mends the cause for less
    full_floors: tuple[Floats, ...]  # the same with every place still to be reached


def network_key(network: Network) -> str:
    """Return a key (32 hex digits) that changes with any number or id of the network, and only then."""
    text = json.dumps(asdict(network), separators=(",", ":"), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def network_json(network: Network) -> dict[str, object]:
    """Return the network as plain lists and numbers for a page; keys are those of the objects above."""
    return asdict(network)


def _misfit(network: Network) -> str:
    causes, checks = len(network.causes), len(network.checks)
    if not causes or len(network.prior) != causes:
        return "a network needs at least one cause, and one prior for each"
    if min(network.prior) < 0 or abs(sum(network.prior) - 1) > 1e-6:
        return f"the priors must not be negative and must sum to 1, not {sum(network.prior):g}"
    for check in network.checks:
        if len(check.rows) != len(check.outcomes) or any(len(row) != causes for row in check.rows):
            return f"{check.id}: one row per outcome and one number per cause are needed"
        if any(abs(sum(column) - 1) > 1e-6 for column in zip(*check.rows, strict=True)):
            return f"{check.id}: the outcomes of every cause must sum to 1"
        if any(not 0 <= i < checks for i in check.only_after):
            return f"{check.id}: only_after names a check that is not there"
    for remedy in network.remedies:
        if len(remedy.cures) != causes:
            return f"{remedy.id}: one cure per cause is needed"
        if any(not 0 <= i < checks for i in remedy.only_after):
            return f"{remedy.id}: only_after names a check that is not there"
    places = len(network.reach_minutes)
    actions: tuple[Check | Remedy, ...] = (*network.checks, *network.remedies)
    for action in actions:
        if not NOWHERE <= action.place < places or not 0 <= action.level < len(network.levels):
            return f"{action.id}: its place or level is not there"
        if action.minutes < 0:
            return f"{action.id}: minutes must not be negative"
    return ""


def _arrays(network: Network) -> Arrays:
    causes, places = len(network.causes), len(network.reach_minutes)
    checks, remedies = network.checks, network.remedies
    widest = max((len(check.outcomes) for check in checks), default=0)
    rows = np.zeros((len(checks), widest, causes))
    keeps = np.zeros_like(rows)
    for k, check in enumerate(checks):
        rows[k, : len(check.rows)] = check.rows
        keeps[k] = rows[k]
        if check.fixes:
            keeps[k, : len(check.rows)] *= ~np.array(check.fixes, dtype=bool)
    gates = _closure([check.only_after for check in checks])
    if gates.diagonal().any():
        raise ValueError(f"{checks[int(np.argmax(gates.diagonal()))].id}: only_after goes round in a circle")
    cures = np.array([remedy.cures for remedy in remedies], dtype=float).reshape(len(remedies), causes)
    reach = np.array([*network.reach_minutes, 0.0])
    remedy_place = np.array([r.place if r.place >= 0 else places for r in remedies], dtype=np.intp)
    remedy_minutes = np.array([r.minutes for r in remedies], dtype=float)
    remedy_level = np.array([r.level for r in remedies], dtype=np.intp)
    floors, full_floors = _floors(network, cures, remedy_minutes, remedy_minutes + reach[remedy_place])
    return Arrays(
        prior=np.array(network.prior, dtype=float),
        rows=rows,
        keeps=keeps,
        check_minutes=np.array([check.minutes for check in checks], dtype=float),
        check_place=np.array([c.place if c.place >= 0 else places for c in checks], dtype=np.intp),
        check_level=np.array([check.level for check in checks], dtype=np.intp),
        check_gates=gates,
        remedy_minutes=remedy_minutes,
        remedy_place=remedy_place,
        remedy_level=remedy_level,
        remedy_gates=_widened([remedy.only_after for remedy in remedies], gates),
        cures=cures,
        reach=reach,
        disjoint=bool(np.isin(cures, (0.0, 1.0)).all() and (cures.sum(axis=0) <= 1).all()),
        own_cause=np.argmax(cures, axis=1) if remedies and _one_each(cures) else None,
        remedies_at=tuple(
            (place, np.flatnonzero(remedy_place == place))
            for place in range(places)
            if reach[place] > 0 and (remedy_place == place).any()
        ),
        floors=floors,
        full_floors=full_floors,
    )


def _one_each(cures: Floats) -> bool:
    return bool(np.isin(cures, (0.0, 1.0)).all() and (cures.sum(axis=1) == 1).all())


def _closure(needs: Sequence[Sequence[int]]) -> Bools:
    """Return [check, needed check], following what the needed checks need in turn."""
    gates = np.zeros((len(needs), len(needs)), dtype=bool)
    for k, needed in enumerate(needs):
        gates[k, list(needed)] = True
    for _ in needs:
        wider = gates | ((gates.astype(int) @ gates.astype(int)) > 0)
        if np.array_equal(wider, gates):
            break
        gates = wider
    return gates


def _widened(needs: Sequence[Sequence[int]], gates: Bools) -> Bools:
    wide = np.zeros((len(needs), len(gates)), dtype=bool)
    for r, needed in enumerate(needs):
        for k in needed:
            wide[r, k] = True
            wide[r] |= gates[k]
    return wide


def _floors(
    network: Network, cures: Floats, minutes: Floats, full_minutes: Floats
) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
    """Return per level and cause a bound below every remedy order: the cheapest one cure or hand-over."""
    beyond = np.full(len(network.causes), network.unsolved_minutes)
    near: list[Floats] = []
    full: list[Floats] = []
    for level in range(network.top, -1, -1):
        may = np.array([remedy.level <= level for remedy in network.remedies], dtype=bool)
        able = (cures > 0) & may[:, None]
        near.append(np.minimum(beyond, np.min(np.where(able, minutes[:, None], np.inf), axis=0, initial=np.inf)))
        best = np.min(np.where(able, full_minutes[:, None], np.inf), axis=0, initial=np.inf)
        full.append(np.minimum(beyond, best))
        beyond = network.levels[level].visit_minutes + full[-1]
    return tuple(reversed(near)), tuple(reversed(full))
