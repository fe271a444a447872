"""Which way something goes, and whether it does: the sense of a symptom and of a query.

A sense is a pair of what it does and which way, as in `kbtools.model.Direction`. A text may express several.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kbtools.search.constants import (
    AGREES,
    BREAKS,
    CIRCUMSTANCE,
    CONTRAST,
    DETERMINERS,
    FAST,
    HOLD,
    KEYS,
    MOTION,
    NEGATIONS,
    OPPOSITE,
    OPPOSITE_STATE,
    PARTICLES,
    REACH,
    SLOW,
    STUCK,
    UNASKED,
    UNIT,
    UP_IDIOMS,
    VERB_BEFORE,
    WAYS,
)

Sense = tuple[str, str]
"""What it does and which way."""
Said = tuple[str, str, str]
"""A sense that a text expresses, and the thing of the thesaurus that it speaks of ("" when it names none)."""
Things = Sequence[str]
"""At each word that names a thing, that thing; elsewhere ""."""


def read_senses(
    words: Sequence[str], pauses: Sequence[bool], things: Things, ways: Mapping[str, Mapping[str, str]]
) -> tuple[Said, ...]:
    """The senses that a text expresses, each once, in order.

    `words` are the tokens, `pauses` says where punctuation precedes one, `ways` holds what words of direction mean for a thing
    of the thesaurus. What stands before "but" is left out; circumstances ("with the key out") count when nothing else does.

    >>> say = lambda text: read_senses(text.split(), [False] * 99, [""] * 99, {})
    >>> say("will not come up"), say("stuck down"), say("pump stays on"), say("parked on the road")
    ((('no', 'retract', ''),), (('no', 'retract', ''),), (('no', 'off', ''),), ())
    """
    main: list[Said] = []
    aside: list[Said] = []
    opened: set[int] = set()  # clauses whose first word of direction has been read
    contrast = max((i for i, word in enumerate(words) if word in CONTRAST), default=-1)
    for index in range(contrast + 1, len(words)):
        start = _clause(words, pauses, index)
        thing = _thing(things, start, index)
        way = _way(words, index, ways.get(thing, {}))
        if way:
            circumstance = start > 0 and words[start - 1] in CIRCUMSTANCE and start not in opened
            opened.add(start)
            (aside if circumstance else main).append((*_does(words, pauses, index, way), thing))
    return tuple(dict.fromkeys(main or aside))


def _clause(words: Sequence[str], pauses: Sequence[bool], index: int) -> int:
    """Where the clause of a word begins."""
    start = index
    while start > 0 and not pauses[start] and words[start - 1] not in BREAKS:
        start -= 1
    return start


def _thing(things: Things, start: int, index: int) -> str:
    """The thing nearest before the word in its clause, else the nearest before it at all, else the first after it."""
    before = [thing for thing in things[start:index] if thing] or [thing for thing in things[:start] if thing]
    return before[-1] if before else next((thing for thing in things[index + 1 :] if thing), "")


def _way(words: Sequence[str], index: int, own: Mapping[str, str]) -> str | None:
    word = words[index]
    way = own.get(word, WAYS.get(word))
    if way is None or way == "none":
        return None
    before = words[index - 1] if index else ""
    after = words[index + 1] if index + 1 < len(words) else ""
    if word == "lower" and before not in VERB_BEFORE:
        return None
    if word not in PARTICLES:
        named = before in KEYS or (before in DETERMINERS and (index < 2 or words[index - 2] in KEYS or way == "on"))
        return None if named else way
    if after in DETERMINERS or (word == "up" and before in UP_IDIOMS):
        return None
    if word in ("in", "on") and after and after not in BREAKS and before not in HOLD and before not in MOTION:
        return None
    return way


def _does(words: Sequence[str], pauses: Sequence[bool], index: int, way: str) -> Sense:
    start = max(_clause(words, pauses, index), index - REACH)
    before = words[start:index]
    negated = sum(word in NEGATIONS for word in before) % 2 == 1
    if before and before[-1] in STUCK:
        return ("by-itself" if negated else "no", OPPOSITE_STATE[way])
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
    and do not either. A plain state contradicts another state, and what will not leave the other one.

    >>> opposite(("no", "extend"), ("no", "retract")), opposite(("no", "extend"), ("by-itself", "retract"))
    (True, False)
    """
    if other[1] not in (one[1], OPPOSITE_STATE[one[1]]):
        return False
    if one[1] in ("on", "off"):
        return _end(one) != _end(other)
    if "is" in (one[0], other[0]):
        return {one[0], other[0]} <= {"is", "no"} and _end(one) != _end(other)
    return (one[1] != other[1]) != ((one[0] == "no") != (other[0] == "no"))


def contradicts(said: Sequence[Said], entry: Sense | None, about: frozenset[str]) -> bool:
    """True when something said is opposite to the entry's sense and nothing said agrees with it.

    Only what is said of a thing that the entry is `about`, or of nothing in particular, is held against it.
    """
    if entry is None:
        return False
    axis = (entry[1], OPPOSITE_STATE[entry[1]])
    on_topic = [one for one in said if one[1] in axis and (not one[2] or one[2] in about)]
    return bool(on_topic) and all(opposite(one[:2], entry) for one in on_topic)


def sense_factor(said: Sequence[Said], entry: Sense | None, about: frozenset[str]) -> int:
    """What the senses of a query do to an entry's score, in 64ths: less for the opposite, more for the very same of its thing."""
    if contradicts(said, entry, about):
        return OPPOSITE
    return AGREES if any(one[:2] == entry and one[2] in about for one in said) else UNIT
