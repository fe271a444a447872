"""Print how far each way to diagnose is from the optimum, on generated problems of a known kind.

python benchmarks/diagnosis.py [--problems 200] [--large 6] [--content content]
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import numpy as np

from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.chart import boxes, compile_chart
from kbtools.diagnosis.exact import optimum
from kbtools.diagnosis.network import Network
from kbtools.diagnosis.policy import myopic, next_action
from kbtools.diagnosis.posterior import State
from kbtools.diagnosis.rehearse import (
    authors_order,
    by_rollout,
    cost_order,
    policy_minutes,
    simulate,
)
from kbtools.library import open_content
from tests.diagnosis.generate import problem

WAYS = {
    "author's order, then remedies": authors_order,
    "checks by cost, then remedies": cost_order,
    "myopic value of information": lambda _: myopic,
    "rollout over the myopic policy": lambda _: by_rollout,
}


def line(name: str, ratios: np.ndarray) -> None:
    print(f"{name:34} {ratios.mean():8.4f} {np.quantile(ratios, 0.95):8.4f} {ratios.max():8.4f}")


def heading(text: str) -> None:
    print(f"\n{text}\n{'':34} {'mean':>8} {'p95':>8} {'max':>8}")


def small(count: int) -> None:
    """Ratios to the exact optimum on problems of 4 to 10 causes and 4 to 8 checks."""
    nets = [problem(seed) for seed in range(count)]
    best = np.array([optimum(net, max_states=64_000_000) for net in nets])
    heading(f"{count} problems of up to 8 checks: minutes ÷ exact optimum")
    ways: dict[str, np.ndarray] = {}
    for name, way in WAYS.items():
        ways[name] = np.array([policy_minutes(net, way(net)) for net in nets])
        line(name, ways[name] / best)
    charts = [compile_chart(net) for net in nets]
    line("chart, branches under 2 % cut", np.array([chart.minutes for chart in charts]) / best)
    print(
        f"worst rollout ÷ myopic: {(ways['rollout over the myopic policy'] / ways['myopic value of information']).max():.4f}"
    )
    asked = [sum(node.kind == "check" for node in boxes(chart.root)) for chart in charts]
    print(f"check boxes of a chart: {statistics.mean(asked):.1f} on average, {max(asked)} at most")


def large(count: int) -> None:
    """Minutes over the best known on 20 causes and 30 checks, and what a decision takes."""
    nets = [problem(seed, causes=(20, 20), checks=(30, 30)) for seed in range(count)]
    ways = {name: np.array([policy_minutes(net, way(net), tiny=1e-3) for net in nets]) for name, way in WAYS.items()}
    best = np.min(list(ways.values()), axis=0)
    heading(f"{count} problems of 20 causes and 30 checks: minutes ÷ best known")
    for name, minutes in ways.items():
        line(name, minutes / best)


def manual(folder: str) -> None:
    """Every symptom of a manual for a technician: minutes of each way, and the optimum where it is feasible."""
    library, _ = open_content(folder)
    level = min(1, max(len(library.people) - 1, 0))
    names = ("author", "cost", "myopic", "rollout", "chart", "exact")
    print(f"\n{folder}: expected minutes at level {level + 1}\n{'':32}" + "".join(f"{name:>9}" for name in names))
    totals = np.zeros(5)
    for symptom in library.symptoms:
        net, state = network_of(library, symptom), State(level=level)
        minutes = [policy_minutes(net, way(net), state, tiny=1e-3) for way in WAYS.values()]
        minutes.append(compile_chart(net, state).minutes)
        best = optimum(net, state, max_states=50_000)
        totals += minutes
        print(f"{symptom:32}" + "".join(f"{m:9.1f}" for m in minutes) + (f"{best:9.1f}" if best else "        –"))
    print(f"{'all':32}" + "".join(f"{m:9.1f}" for m in totals))


def timing(count: int) -> None:
    """What decisions, charts and simulated calls take."""
    print("\nmilliseconds a decision, 20 causes × 30 checks (median)")
    plain = [problem(seed, causes=(20, 20), checks=(30, 30)) for seed in range(count)]
    layered = [problem(s, causes=(20, 20), checks=(30, 30), places=5, levels=(90.0, 180.0)) for s in range(count)]
    print(f"  one level                        {1000 * decision(plain, 0):6.1f}")
    for level in range(3):
        print(f"  places, level {level + 1} of 3              {1000 * decision(layered, level):6.1f}")
    usual = [problem(s, causes=(6, 6), checks=(8, 12), places=3, levels=(90.0, 180.0)) for s in range(count)]
    start = time.process_time()
    charts = [compile_chart(net, State(level=1)) for net in usual]
    print(f"milliseconds a chart, 6 × 8–12:    {1000 * (time.process_time() - start) / count:6.1f}")
    start = time.process_time()
    for chart in charts:
        simulate(chart, 20_000, mistakes=0.05, double=0.05)
    print(f"simulated calls a second:          {20_000 * count / (time.process_time() - start):6.0f}")


def decision(nets: list[Network], level: int) -> float:
    taken = []
    for net in nets:
        _ = net.arrays
        start = time.process_time()
        next_action(net, State(level=level))
        taken.append(time.process_time() - start)
    return statistics.median(taken)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--problems", type=int, default=200)
    parser.add_argument("--large", type=int, default=6)
    parser.add_argument("--content", metavar="DIR", help="only the symptoms of this manual")
    options = parser.parse_args()
    if options.content:
        manual(options.content)
        return
    small(options.problems)
    large(options.large)
    timing(options.large)


if __name__ == "__main__":
    main()
