"""Tables of the traces' short codes: the same in both editions, and changed only with what they count."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kbtools.library import Library, open_content
from kbtools.site import codes
from kbtools.site.codes import HEAD, SIGNS, CodeTable, code_tables
from tests.content_case import TOPIC, Content

CONTENT = Path(__file__).parents[2] / "content"
STEP = "step-stays-in"


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(CONTENT)[0]


def known(table: CodeTable) -> int:
    """The first 8 of the head's 20 bits."""
    return sum(SIGNS.index(sign) << 5 * place for place, sign in enumerate(reversed(table.head))) >> 12


def test_an_owner_has_the_first_items_of_the_whole_table(small: Library, demo: Library) -> None:
    for library in (small, demo):
        whole, ours = code_tables(library), code_tables(library, owner=True)
        assert set(whole) == set(library.symptoms)
        assert set(ours) == {ident for ident, symptom in library.symptoms.items() if symptom.owner is not None}
        for symptom, table in ours.items():
            assert whole[symptom].items[: len(table.items)] == table.items
            assert (table.head, table.count, table.options) == (
                whole[symptom].head,
                whole[symptom].count,
                whole[symptom].options,
            )
    assert code_tables(small, owner=True)[STEP].items == (
        "tractor-plugged-in",
        "step-click",
        "remedy:coupled-locks-step",
    )
    assert "remedy:actuator-worn" in code_tables(small)[STEP].items


def test_every_head_has_four_signs_and_stands_once(demo: Library) -> None:
    heads = [table.head for table in code_tables(demo).values()]
    assert len(set(heads)) == len(heads) == 65
    assert all(len(head) == HEAD and set(head) <= set(SIGNS) for head in heads)
    script = codes.heads_script(code_tables(demo))
    assert json.loads(script.partition("kbTrace.heads = ")[2].removesuffix(";\n"))["fault-3"] in heads


def test_a_head_taken_by_another_symptom_is_not_given_again() -> None:
    first = codes._head("a", ["x"], set())
    second = codes._head("a", ["x"], {first})
    assert first != second
    assert SIGNS.index(first[0]) == SIGNS.index(second[0])


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        ("    title: Is the tractor plugged in?", "    title: Is the tractor's plug in?", True),
        ("    minutes: 1\n", "    minutes: 2\n", True),
        ("      ignition-on:\n", "      key-on:\n", False),
    ],
)
def test_words_and_minutes_do_not_change_a_head_but_outcomes_do(
    content: Content, old: str, new: str, same: bool
) -> None:
    before = code_tables(open_content(content.folder)[0])
    text = (content.folder / TOPIC).read_text("utf-8")
    assert old in text
    content.write(TOPIC, text.replace(old, new, 1))
    after = code_tables(open_content(content.folder)[0])
    assert (before[STEP].head == after[STEP].head) is same
    assert known(before[STEP]) == known(after[STEP])


def test_options_count_every_answer_that_can_be_given(small: Library, demo: Library) -> None:
    """Not sure, cannot, each outcome, and two more for each outcome that cures; a remedy has four results."""
    for library in (small, demo):
        for table in code_tables(library).values():
            checks = [library.checks[item] for item in table.items if not item.startswith("remedy:")]
            most = max((2 + len(c.outcomes) + 2 * sum(o.fixed for o in c.outcomes.values()) for c in checks), default=0)
            assert table.options == max(4, most)
            assert table.count == len(table.items) == len(set(table.items))
