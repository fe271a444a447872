"""What a word can stand for."""

from __future__ import annotations

from kbtools.search.constants import (
    CONCEPT_WEIGHT,
    CORRECTED_1,
    CORRECTED_2,
    LESS_LIKELY,
    OTHER_START,
    PART_WORD,
    PREFIX_WEIGHT,
    SOUNDS_ALIKE,
    UNIT,
)
from kbtools.search.index import reader_of
from kbtools.search.lexicon import Lexicon, Match, Reading
from kbtools.search.query import read_query
from kbtools.terms import Concept, Terms

TERMS = Terms(
    concepts={
        "leg": Concept(trade=("leg",), said=("support",), part=True),
        "valve": Concept(trade=("load-holding valve", "counterbalance valve"), part=True),
        "leak": Concept(trade=("leak",), said=("puddle",)),
    }
)
TEXTS = ["The leg leaks at its load-holding valve", "panel panels pump TP6 F3 puddle support counterbalance"]


def _lexicon() -> Lexicon:
    plain = reader_of(TERMS, TEXTS)
    popularity = dict.fromkeys(plain.surfaces.values(), 1) | {"pump": 5}
    return Lexicon(plain.surfaces, popularity, frozenset({"plump"}), plain.forms, plain.parts)


def _stems(word: str, **how: bool) -> list[tuple[str, int, str]]:
    return [(r.stem, r.weight, r.how) for r in _lexicon().readings(word, **how)]


def test_a_known_word_is_itself_alone() -> None:
    assert _stems("panels") == [("panel", UNIT, "exact")]


def test_a_misspelt_word_is_corrected_by_distance_and_sound() -> None:
    assert _stems("pannel") == [("panel", CORRECTED_1 + SOUNDS_ALIKE, "corrected")]
    assert _stems("panbe") == [("panel", CORRECTED_2, "corrected")]
    assert _stems("banel") == [("panel", CORRECTED_1 - OTHER_START, "corrected")]


def test_common_words_short_words_and_numbers_are_not_corrected() -> None:
    assert _stems("plump") == []
    assert _stems("le") == []
    assert _stems("f4") == []
    assert _stems("tp7") == []


def test_an_unfinished_word_becomes_known_ones_and_nothing_else() -> None:
    assert _stems("pa", unfinished=True) == [("panel", PREFIX_WEIGHT, "unfinished")]
    assert [stem for stem, _, _ in _stems("pu", unfinished=True)] == ["pump", "puddl"]
    assert _stems("p", unfinished=True) == []


def test_concepts_take_the_longest_form_and_never_overlap() -> None:
    query = read_query("support load-holding valve puddle", _lexicon())
    assert query.matches == (Match("leg", 0, 1, UNIT), Match("valve", 1, 4, UNIT), Match("leak", 4, 5, UNIT))
    assert query.parts == {"leg", "valve"}
    assert query.features["=valve"] == CONCEPT_WEIGHT


def test_a_word_that_names_a_thing_counts_less_than_what_is_said_of_it() -> None:
    query = read_query("support puddle", _lexicon())
    assert query.features["support"] == PART_WORD < UNIT
    assert query.features["puddl"] == UNIT


def test_only_the_likeliest_correction_has_its_full_weight() -> None:
    assert _stems("pumel") == [
        ("pump", CORRECTED_2, "corrected"),
        ("panel", CORRECTED_2 - LESS_LIKELY, "corrected"),
    ]


def test_a_corrected_word_leads_to_its_concept_with_less_weight() -> None:
    query = read_query("pudle", _lexicon())
    assert query.corrected == (("pudle", "puddle"),)
    assert query.features["=leak"] < CONCEPT_WEIGHT


def test_names_written_apart_are_joined() -> None:
    lexicon = _lexicon()
    assert [w.text for w in read_query("volts at TP 6", lexicon).words] == ["volts", "tp6"]
    assert [w.text for w in read_query("f 3", lexicon).words] == ["f3"]
    assert [w.text for w in read_query("f 4", lexicon).words] == ["f", "4"]


def test_nothing_known_gives_nothing() -> None:
    query = read_query("xyzzyqq", _lexicon())
    assert (query.readings, query.features) == (((),), {})
    assert Reading("a", 1, "exact", "a").stem == "a"


def test_unknown_words_are_neither_numbers_nor_short_nor_barely_begun() -> None:
    query = read_query("the leg of my fridge leeks 12 V xx however panbe", _lexicon())
    assert query.unknown == ("fridge", "panbe"), "panbe is two edits from panel and sounds otherwise"
    assert [word for word, known in query.judged if known] == ["leg", "leeks"]
    assert read_query("leg fri", _lexicon(), typing=True).unknown == ()
    assert read_query("leg frid", _lexicon(), typing=True).unknown == ("frid",)
    assert read_query("leg pan", _lexicon(), typing=True).judged == (("leg", True),)
    assert read_query("leg pane", _lexicon(), typing=True).judged == (("leg", True), ("pane", True))


def test_words_written_as_they_sound_stand_for_themselves() -> None:
    assert [token.text for token in read_query("sinks at nite, alot", _lexicon()).words] == ["sinks", "night", "lot"]
