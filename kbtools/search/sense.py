"""Which way something goes, and whether it does: the sense of a symptom and of a query.

A sense is a pair of what it does and which way, as in `kbtools.model.Direction`. Text of any length gives a set of senses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kbtools.search.constants import (
    BREAKS,
    DETERMINERS,
    FAST,
    HOLD,
    KEYS,
    MOTION,
    NEGATIONS,
    OPPOSITE_STATE,
    PARTICLES,
    REACH,
    SLOW,
    STUCK,
    UNASKED,
    WAYS,
)

Sense = tuple[str, str]


def read_senses(
    words: Sequence[str], pauses: Sequence[bool], things: Sequence[Mapping[str, str] | None]
) -> tuple[Sense, ...]:
    """The senses that a text expresses, each once, in order.

    `words` are the tokens; `pauses` says where punctuation precedes one; `things` holds, at each word that names a thing of
    the thesaurus, that thing's own `ways`, elsewhere None.

    >>> say = lambda text: read_senses(text.split(), [False] * 99, [None] * 99)
    >>> say("will not come up"), say("stuck down"), say("pump stays on"), say("parked on the road")
    ((('no', 'retract'),), (('no', 'retract'),), (('no', 'off'),), ())
    """
    found: list[Sense] = []
    for index in range(len(words)):
        way = _way(words, index, things)
        if way:
            sense = _does(words, pauses, index, way)
            if sense not in found:
                found.append(sense)
    return tuple(found)


def _way(words: Sequence[str], index: int, things: Sequence[Mapping[str, str] | None]) -> str | None:
    word = words[index]
    way = next((ways[word] for ways in _nearest(things, index) if word in ways), WAYS.get(word))
    if way is None:
        return None
    before = words[index - 1] if index else ""
    after = words[index + 1] if index + 1 < len(words) else ""
    if word in PARTICLES:
        if after in DETERMINERS or after == "of":
            return None
        if word in ("in", "on") and after and after not in BREAKS and before not in HOLD and before not in MOTION:
            return None
    elif before in KEYS or (before == "the" and index > 1 and words[index - 2] in KEYS):
        return None
    return way


def _nearest(things: Sequence[Mapping[str, str] | None], index: int) -> list[Mapping[str, str]]:
    """The ways of the things named, nearest before the word first, then those after it."""
    before = [ways for ways in things[:index][::-1] if ways]
    return before + [ways for ways in things[index + 1 :] if ways]


def _does(words: Sequence[str], pauses: Sequence[bool], index: int, way: str) -> Sense:
    start = index
    while start > 0 and index - start < REACH and not pauses[start] and words[start - 1] not in BREAKS:
        start -= 1
    before = words[start:index]
    negated = sum(word in NEGATIONS for word in before) % 2 == 1
    if before and before[-1] in STUCK:
        return ("is", way) if negated else ("no", OPPOSITE_STATE[way])
    if negated:
        return "no", way
    around = (*before, *words[index + 1 : index + 1 + REACH])
    if any(word in SLOW for word in around):
        return "slow", way
    if any(word in UNASKED for word in around):
        return "by-itself", way
    if any(word in FAST for word in around):
        return "fast", way
    moving = words[index] not in PARTICLES or any(word in MOTION for word in before[-3:])
    return ("by-itself" if moving else "is"), way


def _end(sense: Sense) -> str:
    """The state in which it ends up: what will not extend is retracted."""
    does, way = sense
    return OPPOSITE_STATE[way] if does == "no" else way


def opposite(one: Sense, other: Sense) -> bool:
    """True when two senses contradict each other: one way against the other, or it does against it does not.

    Senses of different axes (extend and retract, on and off) never do. "Will not come out" and "goes in by itself" end alike
    and do not either; a plain state only contradicts another end.

    >>> opposite(("no", "extend"), ("no", "retract")), opposite(("no", "extend"), ("by-itself", "retract"))
    (True, False)
    """
    if other[1] not in (one[1], OPPOSITE_STATE[one[1]]):
        return False
    on_off = one[1] in ("on", "off")
    if on_off or "is" in (one[0], other[0]):
        return _end(one) != _end(other)
    return (one[1] != other[1]) != ((one[0] == "no") != (other[0] == "no"))


def contradicts(said: Sequence[Sense], entry: Sense | None) -> bool:
    """True when something said is opposite to the entry's sense and nothing said agrees with it."""
    if entry is None:
        return False
    same_axis = [sense for sense in said if sense[1] in (entry[1], OPPOSITE_STATE[entry[1]])]
    return bool(same_axis) and all(opposite(sense, entry) for sense in same_axis)
