"""Random problems of a known kind, for tests and for the benchmark."""

from __future__ import annotations

import numpy as np

from kbtools.diagnosis.network import Check, Level, Network, Remedy


def problem(
    seed: int,
    causes: tuple[int, int] = (4, 10),
    checks: tuple[int, int] = (4, 8),
    places: int = 0,
    levels: tuple[float, ...] = (),
) -> Network:
    """Return a network of so many (from, to) causes and checks.

    Skewed priors; checks of 1 to 30 minutes and two or three outcomes; each cause shows one of them with
    accuracy 0.90 to 0.995, except 12 % of pairs that say nothing; remedies of 2 to 60 minutes; hand-over 90
    to 180 minutes. ``places`` are reached in 2 to 15 minutes; ``levels`` adds people with these visit minutes
    and gives every action one of the levels, checks to the lower ones more often. The last cause is unlisted.
    """
    rng = np.random.default_rng(seed)
    listed = int(rng.integers(causes[0], causes[1] + 1))
    many = int(rng.integers(checks[0], checks[1] + 1))
    prior = np.append(0.95 * rng.dirichlet(np.full(listed, 0.7)), 0.05)
    people = (Level("one"), *(Level(f"more-{i}", visit) for i, visit in enumerate(levels)))

    def place() -> int:
        return int(rng.integers(-1, places)) if places else -1

    return Network(
        causes=(*(f"cause-{i}" for i in range(listed)), "unlisted"),
        prior=tuple(map(float, prior / prior.sum())),
        checks=tuple(_check(rng, f"check-{k}", listed, place(), _low(rng, len(people))) for k in range(many)),
        remedies=tuple(
            Remedy(
                id=f"cause-{i}",
                minutes=float(np.round(rng.uniform(2, 60), 1)),
                cures=tuple(1.0 if j == i else 0.0 for j in range(listed + 1)),
                place=place(),
                level=int(rng.integers(0, len(people))),
            )
            for i in range(listed)
        ),
        reach_minutes=tuple(map(float, np.round(rng.uniform(2, 15, places), 1))),
        levels=people,
        unsolved_minutes=float(np.round(rng.uniform(90, 180), 1)),
    )


def _low(rng: np.random.Generator, levels: int) -> int:
    return int(min(rng.integers(0, levels), rng.integers(0, levels)))


def _check(rng: np.random.Generator, name: str, listed: int, place: int, level: int) -> Check:
    outcomes = int(rng.choice([2, 3], p=[0.75, 0.25]))
    rows = np.full((outcomes, listed + 1), 1 / outcomes)
    for cause in range(listed):
        if rng.random() < 0.12:
            continue
        sure = rng.uniform(0.90, 0.995)
        rows[:, cause] = (1 - sure) / (outcomes - 1)
        rows[rng.integers(outcomes), cause] = sure
    return Check(
        id=name,
        minutes=float(np.round(rng.uniform(1, 30), 1)),
        rows=tuple(tuple(map(float, row)) for row in rows),
        outcomes=tuple(f"outcome-{o}" for o in range(outcomes)),
        place=place,
        level=level,
    )
