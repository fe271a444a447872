"""What stands on an owner's card: everything that keeps safe, whom to call, and the policy's own first questions."""

from __future__ import annotations

from pathlib import Path

import pytest

from kbtools.cards.compiled import compiled_for_owner
from kbtools.cards.measure import Para
from kbtools.cards.owner_card import ENOUGH, OwnerCard
from kbtools.cards.owner_layout import SIZES
from kbtools.cards.owner_steps import QUESTIONS
from kbtools.diagnosis.network import Network
from kbtools.diagnosis.policy import next_action
from kbtools.diagnosis.posterior import State, answered
from kbtools.library import Library, open_content
from kbtools.owner import for_owner, networks_for_owner
from kbtools.readability import grade_of
from kbtools.rules.owners import HIGHEST_GRADE
from tests.owner_cards_case import STRAINED, cards_of, strained_card

CONTENT = Path(__file__).parents[1] / "content"


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(CONTENT)[0]


@pytest.fixture(scope="module")
def cards(demo: Library) -> dict[str, OwnerCard]:
    return cards_of(demo)


def said(para: Para) -> str:
    return "".join(run.text for run in para)


def whole(card: OwnerCard) -> str:
    """All that a card says, each paragraph as a sentence of its own."""
    paras = [
        *(card.message.hazards if card.message else ()),
        *card.first,
        *(s.text for s in card.stops),
        *card.means,
        *card.normal,
    ]
    paras += [p for q in card.questions for p in (q.hazards, q.text, *q.ways)] + [*card.tries, card.tell, *card.foot]
    signs = [sign for stop in card.stops for sign in stop.listed]
    return "\n".join([card.title, card.shows, card.applies, *signs, *map(said, paras), card.telephone, card.hours])


def test_every_symptom_for_owners_has_a_card_that_fits(demo: Library, cards: dict[str, OwnerCard]) -> None:
    assert set(cards) == set(for_owner(demo).symptoms)
    for card in cards.values():
        assert card.fits and not card.refused
        assert card.size >= min(SIZES) > 8  # points; the technician's card has 8


def test_what_keeps_safe_is_whole_on_every_card(demo: Library, cards: dict[str, OwnerCard]) -> None:
    own = for_owner(demo)
    for ident, card in cards.items():
        text, entry = whole(card), own.symptoms[ident]
        assert entry.owner is not None
        wanted = [entry.title, " ".join(entry.owner.text.split()), demo.manual.telephone, demo.manual.emergency_call]
        wanted += [step.do for p in entry.first for step in own.precautions[p].steps]
        wanted += [stop.sign for stop in entry.stop_if] + [own.precautions[stop.then].title for stop in entry.stop_if]
        for hazard in (h for p in entry.first for h in own.precautions[p].hazards):
            wanted += [own.hazards[hazard].title, own.hazards[hazard].consequence]
        assert [one for one in wanted if one not in text] == [], ident


def test_where_an_owner_may_mend_there_are_questions_and_a_remedy(demo: Library, cards: dict[str, OwnerCard]) -> None:
    mend = [card for card in cards.values() if card.mends]
    assert len(mend) > 30
    assert all(card.questions for card in mend)
    assert sum(bool(card.tries) for card in mend) > len(mend) / 2
    for card in cards.values():
        letters = {
            said(way).partition("→\u00a0try ")[2][:1]
            for q in card.questions
            for way in q.ways
            if "→\u00a0try " in said(way)
        }
        assert letters <= {said(one)[:1] for one in card.tries}
        numbers = {int(n) for q in card.questions for w in q.ways for n in said(w).split("go to\u00a0")[1:]}
        assert numbers <= {q.number for q in card.questions}
        if not card.mends:
            assert not card.tries
            assert all("call us" not in said(way) for q in card.questions for way in q.ways)


def test_an_answer_that_calls_for_a_precaution_says_stop(cards: dict[str, OwnerCard]) -> None:
    ways = [said(way) for question in cards["panel-dark"].questions for way in question.ways]
    assert "A tag hangs on it →\u00a0stop: Leave it off. Call us." in ways
    assert any("Turn the panel key S1 off" in said(stop.text) for stop in cards["panel-dark"].stops)


@pytest.mark.parametrize("ident", ["panel-dark", "oil-at-leg", "flat-after-a-day", "trailer-moves-or-foot-slides"])
def test_the_questions_are_those_of_the_policy_while_all_is_as_it_should_be(demo: Library, ident: str) -> None:
    network: Network = networks_for_owner(demo)[ident]
    state = State(level=0)
    boxes = compiled_for_owner(network, "owner").boxes
    assert len(boxes) <= QUESTIONS
    for box in boxes[:ENOUGH]:
        action = next_action(network, state)
        assert action.kind == "check" and action.index is not None
        assert network.checks[action.index].id == box.id
        state = answered(state, action.index, network.checks[action.index].normal)


def test_each_question_stands_once(demo: Library) -> None:
    for network in networks_for_owner(demo).values():
        asked = [box.id for box in compiled_for_owner(network, "owner").boxes if box.kind == "check"]
        assert len(asked) == len(set(asked))
        assert not any(ident.startswith("#") for ident in asked)


def test_a_card_is_of_grade_8_at_most(cards: dict[str, OwnerCard]) -> None:
    """Flesch-Kincaid grade (Kincaid, Fishburne, Rogers and Chissom 1975), the whole card with its fixed words."""
    grades = {ident: grade_of(whole(card).replace("\n", ".\n")) for ident, card in cards.items()}
    assert {ident: round(found, 1) for ident, found in grades.items() if found > HIGHEST_GRADE} == {}


def test_the_letters_grow_when_there_is_little_to_say(tmp_path: Path) -> None:
    assert strained_card(tmp_path, "bare").size == max(SIZES)


@pytest.mark.parametrize("name", STRAINED)
def test_a_strained_card_fits(tmp_path: Path, name: str) -> None:
    card = strained_card(tmp_path, name)
    assert card.fits
    assert card.refused is (name in ("many-signs", "too-many-signs"))
    assert card.telephone in whole(card)


def test_a_card_without_room_for_its_safety_text_only_says_whom_to_call(tmp_path: Path) -> None:
    card = strained_card(tmp_path, "too-many-signs")
    assert (card.questions, card.tries, card.stops, card.first, card.message) == ((), (), (), (), None)
    assert "Do not work from this card." in whole(card)
