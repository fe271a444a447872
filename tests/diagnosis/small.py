"""Networks of a few numbers, built in one line, for tests."""

from __future__ import annotations

from collections.abc import Sequence

from kbtools.diagnosis.network import Check, Level, Network, Remedy


def remedy(
    cause: int, causes: int, minutes: float, place: int = -1, level: int = 0, after: tuple[int, ...] = ()
) -> Remedy:
    """Return a remedy that cures one cause for sure."""
    cures = tuple(1.0 if i == cause else 0.0 for i in range(causes))
    return Remedy(f"cause-{cause}", minutes, cures, place, level, after)


def check(name: str, minutes: float, rows: Sequence[Sequence[float]], **more: object) -> Check:
    """Return a check from rows[outcome][cause]."""
    table = tuple(tuple(map(float, row)) for row in rows)
    return Check(name, minutes, table, tuple(f"o{i}" for i in range(len(table))), **more)  # type: ignore[arg-type]


def network(
    prior: Sequence[float],
    remedies: Sequence[Remedy],
    checks: Sequence[Check] = (),
    unsolved: float = 1000.0,
    reach: Sequence[float] = (),
    visits: Sequence[float] = (0.0,),
) -> Network:
    """Return a network whose causes are called cause-0, cause-1, …"""
    return Network(
        tuple(f"cause-{i}" for i in range(len(prior))),
        tuple(map(float, prior)),
        tuple(checks),
        tuple(remedies),
        tuple(reach),
        tuple(Level(f"level-{i}", visit) for i, visit in enumerate(visits)),
        unsolved,
    )
