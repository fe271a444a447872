"""Write tests/vectors/diagnosis.json: networks, states and what Python makes of them.

python -m tests.diagnosis.vectors
"""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np

from kbtools.diagnosis.batch import batch_of
from kbtools.diagnosis.cost import repair
from kbtools.diagnosis.network import Network, network_json
from kbtools.diagnosis.policy import next_action, why
from kbtools.diagnosis.posterior import State, answered, failed, not_sure, posterior
from tests.diagnosis.generate import problem

FILE = Path(__file__).parent.parent / "vectors" / "diagnosis.json"


def networks() -> list[Network]:
    """Return the networks of the vectors: plain, with places and levels, gates, cures by checks, shared remedies."""
    plain = [problem(seed, causes=(4, 6), checks=(4, 6)) for seed in range(4)]
    layered = [problem(s, causes=(5, 7), checks=(5, 8), places=3, levels=(60.0, 120.0)) for s in range(4, 9)]
    return [*plain, *layered, *(with_everything(net) for net in (*plain[2:], *layered[2:]))]


def with_everything(net: Network) -> Network:
    """Return the network with gates, a check that cures, one that needs the fault, and a shared remedy."""
    causes = len(net.causes)
    first, second, third, *rest = net.checks
    fixes = tuple(tuple(o == 1 and c in (0, 2) for c in range(causes)) for o in range(len(first.outcomes)))
    checks = (replace(first, fixes=fixes), replace(second, only_after=(2,)), replace(third, only_while_faulty=True))
    cures = tuple(float(c in (1, 3)) for c in range(causes))
    shared = replace(net.remedies[1], cures=cures)
    gated = replace(net.remedies[2], only_after=(1,))
    kept = tuple(r for i, r in enumerate(net.remedies) if i not in (1, 2, 3))
    return replace(net, checks=(*checks, *rest), remedies=(shared, gated, *kept))


def states(net: Network, seed: int) -> list[State]:
    """Return states of each level, from nothing known to almost everything."""
    rng = np.random.default_rng(seed)
    found = []
    for level in range(len(net.levels)):
        state = State(level=level)
        found.append(state)
        for k in rng.permutation(len(net.checks))[:3]:
            outcomes = len(net.checks[k].outcomes)
            state = answered(state, int(k), int(rng.integers(outcomes)))
            found.append(state)
        found.append(failed(not_sure(state, 0), int(rng.integers(len(net.remedies)))))
        found.append(
            replace(state, no_checks=frozenset({1}), no_remedies=frozenset({0}), came_back=frozenset({0}), away=True)
        )
        found.append(State(level=level, places=frozenset(range(len(net.reach_minutes)))))
    return found


def made() -> dict[str, object]:
    """Return the vectors as plain data."""
    cases = []
    for seed, net in enumerate(networks()):
        results = []
        for state in states(net, seed):
            action = next_action(net, state)
            results.append(
                {
                    "state": {k: sorted(v) if isinstance(v, frozenset) else v for k, v in vars(state).items()},
                    "posterior": posterior(net, state).tolist(),
                    "repair": float(repair(net, batch_of(net, [state]), state.level).minutes[0]),
                    "next": asdict(action),
                    "why": [asdict(prospect) for prospect in why(net, state, 0)],
                }
            )
        cases.append({"network": network_json(net), "results": results})
    return {"cases": cases}


if __name__ == "__main__":
    FILE.parent.mkdir(exist_ok=True)
    FILE.write_text(json.dumps(made(), separators=(",", ":")) + "\n", encoding="utf-8")
