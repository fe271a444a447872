"""What the traces of the manual cost in minutes: exact, simulated, against the author's order and the
optimum.
"""

from __future__ import annotations

import zlib
from dataclasses import asdict, dataclass

from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.chart import compile_chart
from kbtools.diagnosis.posterior import State
from kbtools.diagnosis.rehearse import authors_order, policy_minutes, simulate, yardstick
from kbtools.library import Library

PRUNE = 0.005
"""Rarer branches follow the remedies in order: finer than on paper, since a trace on a screen goes on
computing.
"""
STATES, STATES_BELOW = 1_000_000, 20_000


@dataclass(frozen=True)
class Rehearsal:
    """One symptom rehearsed for one person; minutes are per call, `solved` and `handed_over` shares of the
    calls.

    `authors_order` asks the checks as they are written until one cause reaches 90 per cent; `best` is the
    least known.
    """

    symptom: str
    who: str
    calls: int
    solved: float
    minutes_mean: float
    minutes_median: float
    minutes_p90: float
    handed_over: float
    wrong_remedies: float
    minutes_expected: float
    authors_order: float
    best: float
    best_is: str


def rehearsed(
    library: Library, symptom: str, who: str, calls: int, seed: int = 0, mistakes: float = 0.0, double: float = 0.0
) -> Rehearsal:
    """Rehearse one symptom. The seed, the symptom and the person decide everything; raises KeyError for
    unknown ids.
    """
    network = network_of(library, symptom)
    state = State(level=list(library.people).index(who))
    chart = compile_chart(network, state, prune=PRUNE)
    own = zlib.crc32(f"{seed} {symptom} {who}".encode())
    found = simulate(chart, calls, own, mistakes, double)
    best = yardstick(chart, STATES if state.level == network.top else STATES_BELOW)
    return Rehearsal(
        symptom=symptom,
        who=who,
        **asdict(found),
        minutes_expected=chart.minutes,
        authors_order=policy_minutes(network, authors_order(network), state, tiny=1e-4),
        best=best.minutes,
        best_is=best.kind,
    )


def as_text(rows: list[Rehearsal]) -> str:
    """A table for people: minutes per call, shares in per cent."""
    width = max((len(row.symptom) for row in rows), default=7)
    head = f"{'symptom':{width}}  mean  median   p90  solved  handed  wrong  expected  author  best"
    lines = [
        f"{row.symptom:{width}} {row.minutes_mean:5.0f} {row.minutes_median:7.0f} {row.minutes_p90:5.0f}"
        f" {row.solved:6.0%} {row.handed_over:7.0%} {row.wrong_remedies:6.2f} {row.minutes_expected:9.1f}"
        f" {row.authors_order:7.1f} {row.best:5.1f}{'' if row.best_is == 'exact' else ' (best known)'}"
        for row in rows
    ]
    return "\n".join([head, *lines])
