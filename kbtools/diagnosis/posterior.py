"""What is known so far, and how likely each cause is by it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from kbtools.diagnosis.network import NOWHERE, Floats, Network


@dataclass(frozen=True)
class State:
    """What is known in one trace for a reader of ``level``; checks, outcomes, remedies and places by
    position.

    ``answers`` maps a check to its outcome in the order given. ``unsure`` checks were looked at without an
    answer; ``failed`` remedies did not mend it; ``came_back`` checks seemed to cure it and did not;
    ``no_checks`` and ``no_remedies`` cannot be done; ``places`` is where the caller stands already; ``away``
    says that the fault is not there now. Levels are never tested here: an answer is taken from whoever gives
    it.
    """

    level: int = 0
    answers: tuple[tuple[int, int], ...] = ()
    unsure: frozenset[int] = field(default_factory=frozenset)
    failed: frozenset[int] = field(default_factory=frozenset)
    came_back: frozenset[int] = field(default_factory=frozenset)
    no_checks: frozenset[int] = field(default_factory=frozenset)
    no_remedies: frozenset[int] = field(default_factory=frozenset)
    places: frozenset[int] = field(default_factory=frozenset)
    away: bool = False


def answered(state: State, check: int, outcome: int) -> State:
    """Return the state with this answer; an earlier answer to the same check is replaced."""
    kept = tuple(pair for pair in state.answers if pair[0] != check)
    return replace(
        state,
        answers=(*kept, (check, outcome)),
        unsure=state.unsure - {check},
        came_back=state.came_back - {check},
    )


def not_sure(state: State, check: int) -> State:
    """Return the state with the check used and nothing learnt from it."""
    kept = tuple(pair for pair in state.answers if pair[0] != check)
    return replace(state, answers=kept, unsure=state.unsure | {check})


def failed(state: State, remedy: int) -> State:
    """Return the state re-opened after a remedy that did not mend it."""
    return replace(state, failed=state.failed | {remedy})


def visited(network: Network, state: State) -> frozenset[int]:
    """Return the places where something was done in this trace, or where the caller stands."""
    checks = {check for check, _ in state.answers} | state.unsure
    found = {network.checks[k].place for k in checks} | {network.remedies[r].place for r in state.failed}
    return frozenset((found | state.places) - {NOWHERE})


def cured_by(network: Network, state: State) -> int | None:
    """Return the check whose answer says that it cured the fault for good, else None."""
    for check, outcome in state.answers:
        fixes = network.checks[check].fixes
        if fixes and any(fixes[outcome]) and check not in state.came_back:
            return check
    return None


def posterior(network: Network, state: State) -> Floats:
    """Return P(cause | all that is known), summing to 1, in the order of ``network.causes``.

    One fault: P ∝ prior × ∏ P(outcome | cause), summed as logarithms; a remedy that failed leaves what it
    does not cure. When nothing is left possible, everything is on the last (unlisted) cause.
    """
    a = network.arrays
    with np.errstate(divide="ignore"):
        log = np.log(a.prior)
        for check, outcome in state.answers:
            log = log + np.log(a.rows[check, outcome])
        for check, outcome in state.answers:
            if check in state.came_back:
                log = np.where(a.keeps[check, outcome] < a.rows[check, outcome], -np.inf, log)
        for remedy in sorted(state.failed):
            log = log + np.log1p(-np.minimum(a.cures[remedy], 1.0))
    return normalised(log)


def normalised(log: Floats) -> Floats:
    """Return exp(log) divided by its sum; all on the last entry when nothing is possible."""
    peak = np.max(log)
    if peak == -np.inf:
        last = np.zeros_like(log)
        last[-1] = 1.0
        return last
    weights = np.exp(log - peak)
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def outcome_odds(network: Network, belief: Floats, check: int) -> Floats:
    """Return P(outcome) of a check under a belief, one number per outcome."""
    return np.asarray(network.arrays.rows[check, : len(network.checks[check].outcomes)] @ belief)
