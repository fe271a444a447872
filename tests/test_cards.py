"""What stands on a card, in which order, what gives way, and how high it all is."""

from __future__ import annotations

import doctest
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kbtools.cards import Box, Card, Exit, Procedure, by_proof, card, content, layout, least, measure, reader_of
from kbtools.cards.boxes import CardBox, Way, without_steps
from kbtools.cards.measure import Para, Run, lines, shortened, width
from kbtools.library import Library
from tests.card_case import OVERRIDES, STEPS, STRAINS, rendered, strained


def text(para: Para) -> str:
    return "".join(run.text for run in para).replace("check\u00a0", "check ")


@pytest.fixture
def strain(tmp_path: Path) -> Any:
    return lambda name: strained(tmp_path / name, name)


# --- measuring -------------------------------------------------------------------------------------------------------


def test_widths_are_those_of_the_published_metrics() -> None:
    # Adobe Core 14 font metrics, Helvetica and Helvetica-Bold (AFM), in thousandths of the size; from memory
    assert [measure.REGULAR[c] for c in "iaW0 "] == [222, 556, 944, 556, 278]
    assert [measure.BOLD[c] for c in "iaW0 "] == [278, 556, 944, 556, 278]
    assert doctest.testmod(measure).failed == 0


def test_every_printable_ascii_character_has_a_width() -> None:
    printable = {chr(code) for code in range(32, 127)}
    assert printable <= set(measure.REGULAR) and printable <= set(measure.BOLD)


def test_accents_cost_nothing_and_unknown_scripts_are_taken_as_wide() -> None:
    assert width("é", 10) == width("e", 10)
    assert width("e\u0301", 10) == width("e", 10)
    assert width("電", 10) > width("м", 10) > width("m", 10)
    assert width("\u200f", 10) == 0


def test_lines_break_at_spaces_and_inside_words_only_when_they_must() -> None:
    ten = width("x" * 10, 8)
    assert lines((), 8, ten) == lines((Run("  "),), 8, ten) == 0
    assert lines((Run("xxxxx xxxx"),), 8, ten) == 1
    assert lines((Run("xxxxx xxxxx"),), 8, ten) == 2
    assert lines((Run("x" * 25),), 8, ten) == 3
    assert lines((Run("x" * 25 + " xxx"),), 8, ten) == 3
    assert lines((Run("xxxxx\u00a0xxxxx"),), 8, ten) == 2


def test_a_word_may_span_weights() -> None:
    assert lines((Run("xxxx", True), Run("xxxx"), Run(" x")), 8, width("x" * 8, 8)) == 2


@given(st.text(max_size=200), st.floats(20, 400))
def test_a_wider_column_never_takes_more_lines(words: str, column: float) -> None:
    assert lines((Run(words),), 8, column) >= lines((Run(words),), 8, column * 1.5)


@given(st.text(alphabet="ab cdé ", min_size=1, max_size=300), st.integers(1, 4))
def test_shortened_text_fits_and_says_so(words: str, most: int) -> None:
    short = shortened(words, 8, 60, most)
    assert lines((Run(short),), 8, 60) <= most
    assert short == words or (short.endswith("…") and words.startswith(short[:-1]))


def test_the_style_sheet_bears_the_sizes_of_the_layout() -> None:
    css = (OVERRIDES / "assets" / "card.css").read_text(encoding="utf-8")
    sizes = {name: float(value) for name, value in re.findall(r"--card-([a-z-]+): ([\d.]+)pt;", css)}
    expected = {
        "width": layout.WIDTH,
        "height": layout.HEIGHT,
        "margin": layout.MARGIN,
        "text": layout.TEXT,
        "line": layout.LINE,
        "title": layout.TITLE,
        "title-line": layout.TITLE_LINE,
        "head": layout.HEAD,
        "padding": layout.PADDING,
        "band": layout.BAND,
        "gap": layout.GAP,
        "number-column": layout.NUMBER_COLUMN,
        "column-gap": layout.COLUMN_GAP,
        "right-column": layout.RIGHT_COLUMN,
        "way-indent": layout.WAY_INDENT,
        "box-edge": layout.BOX_EDGE,
        "cause-gap": layout.CAUSE_GAP,
        "qr": layout.QR,
        "qr-gap": layout.QR_GAP,
    }
    assert sizes == pytest.approx(expected, abs=0.1)
    assert all(f"var(--card-{name})" in css for name in sizes)


def test_the_page_is_a5_and_the_type_at_least_8_points() -> None:
    # ISO 216: A5 is 148 × 210 mm
    assert pytest.approx((148 / 25.4 * 72, 210 / 25.4 * 72), abs=0.01) == (layout.PAGE_WIDTH, layout.PAGE_HEIGHT)
    assert layout.TEXT >= 8


# --- procedure -------------------------------------------------------------------------------------------------------


def test_checks_come_by_the_causes_they_prove_per_minute(small: Library) -> None:
    procedure = by_proof(small, "step-stays-in", "technician")
    assert [box.number for box in procedure.boxes] == list(range(1, len(procedure.boxes) + 1))
    # coupled-locks-step: always, in a minute, at no distance; it has the first rank beside a share of 30
    assert procedure.boxes[0].id == "tractor-plugged-in"


def test_a_normal_outcome_leads_on_and_a_telling_one_to_causes(small: Library) -> None:
    first, *_, last = by_proof(small, "step-stays-in", "technician").boxes
    assert {leads.outcome: (leads.box, leads.causes) for leads in first.exits} == {
        "unplugged": (2, ()),
        "ignition-on": (None, ("coupled-locks-step",)),
    }
    assert any(leads.box is None and not leads.causes for leads in last.exits)


def test_a_check_above_the_reader_is_left_out(small: Library) -> None:
    for box in by_proof(small, "step-stays-in", "owner").boxes:
        assert small.checks[box.id].who == "owner"


def test_the_reader_is_the_technician_or_the_highest_there_is(small: Library) -> None:
    assert reader_of(small) == "technician"
    only_owner = replace(small, entries={**small.entries, "person": {"owner": small.people["owner"]}})
    assert reader_of(only_owner) == "owner"
    assert reader_of(replace(small, entries={**small.entries, "person": {}})) == "technician"


# --- selection -------------------------------------------------------------------------------------------------------


def all_signs(printed: Card) -> list[str]:
    return [sign for stop in printed.stops for sign in stop.signs]


@pytest.mark.parametrize("name", STRAINS)
def test_whatever_the_content_the_page_holds_the_card(strain: Any, name: str) -> None:
    printed = card(strain(name), "s")
    assert printed.height <= printed.room


@pytest.mark.parametrize("name", sorted(set(STRAINS) - {"too-many-signs"}))
def test_safety_never_drops(strain: Any, name: str) -> None:
    library = strain(name)
    printed, symptom = card(library, "s"), library.symptoms["s"]
    assert not printed.refused
    assert sorted(all_signs(printed)) == sorted(stop.sign for stop in symptom.stop_if)
    assert len(printed.first) == len(symptom.first)
    said = text(tuple(run for para in printed.first for run in para))
    assert all(step.do in said for ident in symptom.first for step in library.precautions[ident].steps)
    assert bool(printed.message) == bool(symptom.first or symptom.hazards)


def test_the_panel_bears_the_word_of_the_greatest_hazard(strain: Any) -> None:
    message = card(strain("draft"), "s").message
    assert message is not None
    assert message.word == "WARNING"
    assert [text(para) for para in message.hazards] == ["Falls. Kills. Prop it.", "Hot. Burns. Wait."]


def test_a_hazard_of_a_check_is_explained_once_and_then_named(strain: Any) -> None:
    boxes = card(strain("plain"), "s").boxes
    assert [text(box.hazards) for box in boxes[:2]] == ["CAUTION Hot. Wait.", "CAUTION Hot."]


def test_one_sign_stands_before_what_follows_and_several_above_it(strain: Any) -> None:
    (one, _), (many,) = card(strain("plain"), "s").stops, card(strain("many-signs"), "s").stops
    assert one.listed == ()
    assert len(many.listed) == 28
    assert text(many.text) == "→\u00a0Get clear"


def test_what_must_hold_before_is_written_once(strain: Any) -> None:
    titles = [text(box.title) for box in card(strain("needs"), "s").boxes]
    assert titles[0].endswith("Before: Wheels chocked, Power off")
    assert {title.partition("Before: ")[2] for title in titles[1:]} == {"as check 1"}


def test_what_follows_a_stop_sign_is_not_written_twice(strain: Any) -> None:
    clear, aid = card(strain("plain"), "s").stops
    assert text(clear.text) == "It tips →\u00a0Get clear"
    assert text(aid.text).endswith("1\u00a0Call the emergency number. 2\u00a0Stay there.")


def test_a_safety_text_that_fills_the_page_leaves_nothing_to_follow_without_it(strain: Any) -> None:
    printed = card(strain("too-many-signs"), "s")
    assert printed.refused
    assert (printed.boxes, printed.stops, printed.message, printed.causes) == ((), (), None, ())
    assert "Work from the manual" in text(printed.first[0]) and "symptoms/s.html" in text(printed.first[0])
    assert "01632 960247" in text(printed.foot[0])


def test_boxes_that_do_not_fit_are_sent_on_to_the_manual(strain: Any) -> None:
    printed = card(strain("many-causes"), "s")
    shown = len(printed.boxes)
    assert 3 <= shown < 30
    assert printed.continues == "Continue in the manual: symptoms/s.html"
    ends = [[text(way.text).partition("→\u00a0")[2] for way in box.ways] for box in printed.boxes]
    assert sorted(ends[0]) == ["cause A", "check 2"]
    assert "the manual" in ends[-1]
    assert text(printed.causes[-1]).endswith("more in the manual.")


def test_a_card_with_everything_sends_nobody_on(strain: Any) -> None:
    printed = card(strain("plain"), "s")
    assert (len(printed.boxes), printed.continues, len(printed.causes)) == (4, "", 3)
    assert all(box.steps for box in printed.boxes)


def test_steps_give_way_before_boxes(strain: Any) -> None:
    printed = card(strain("many-steps"), "s")
    assert len(printed.boxes) == 4
    assert not all(box.steps for box in printed.boxes)
    assert all(STEPS[-1] in text(box.steps) for box in printed.boxes if box.steps)


def test_many_outcomes_that_lead_the_same_way_share_a_line(strain: Any) -> None:
    ways = card(strain("many-outcomes"), "s").boxes[0].ways
    assert [text(way.text) for way in ways] == ["Outcome number 0 →\u00a0check 2", "Anything else →\u00a0cause A"]
    assert [way.normal for way in ways] == [True, False]


def test_a_symptom_without_causes_hands_over(strain: Any) -> None:
    for name in ("bare", "no-checks"):
        printed = card(strain(name), "s")
        assert printed.boxes == ()
        assert printed.continues == "No check is known for this reader: hand over."


def test_a_draft_says_so_and_the_date_can_be_given(strain: Any) -> None:
    printed = card(strain("draft"), "s", date="2025-07-01")
    assert printed.applies.startswith("DRAFT, not reviewed")
    assert "2025-07-01" in text(printed.foot[-1]) and "2025-06-30" not in text(printed.foot[-1])


def test_an_owners_card_has_the_owners_title_and_words(small: Library) -> None:
    owner = small.symptoms["step-stays-in"].owner
    assert owner is not None
    printed = card(small, "step-stays-in", by_proof(small, "step-stays-in", "owner"))
    assert (printed.title, printed.intro) == (owner.title, owner.text)
    fuse = next(line for line in printed.causes if "Fuse F2" in text(line))
    assert "Hand over to" in text(fuse) and "min" not in text(fuse)


def test_a_protective_part_is_never_just_replaced(small: Library) -> None:
    fuse = next(line for line in card(small, "step-stays-in").causes if "Fuse F2" in text(line))
    assert "50 A" in text(fuse) and "Find out first why it opened." in text(fuse)


# --- another procedure -----------------------------------------------------------------------------------------------


def test_a_given_procedure_replaces_the_order(strain: Any) -> None:
    library = strain("plain")
    boxes = (
        Box(1, "check", "k2", (Exit("good", box=2), Exit("bad-c2", causes=("c2", "c0"), box=2))),
        Box(2, "remedy", "c1", (Exit("cured", done=True), Exit("not-cured"))),
    )
    printed = card(library, "s", Procedure("technician", boxes, minutes=42.2, settled=0.913))
    assert printed.summary == "about 43 min until fixed, settles 91 % of cases"
    ways = [[text(way.text) for way in box.ways] for box in printed.boxes]
    assert ways[0][1] == "Points to c2 →\u00a0causes C, A, then check 2"
    assert ways[1] == ["Cured → done", "Not cured → hand over"]
    assert text(printed.boxes[1].title) == "Mend cause B: Cause c1"


def test_a_way_names_three_causes_then_the_manual_and_a_check_that_comes_again_is_referred_to(strain: Any) -> None:
    four = Exit("bad-c2", causes=("c2", "c0", "c1", "c3"), box=2)
    boxes = (Box(1, "check", "k2", (Exit("good", box=2), four)), Box(2, "check", "k2", (Exit("good"), Exit("bad-c2"))))
    printed = card(strain("many-causes"), "s", Procedure("technician", boxes))
    ways = {way.normal: text(way.text) for way in printed.boxes[0].ways}
    assert ways[True].endswith("→\u00a0check 2")
    assert ways[False].endswith("→\u00a0causes C, A, B, then the manual")
    assert [text(box.title) for box in printed.boxes][1].endswith(" as check 1")


def test_ways_two_in_a_row_stand_by_length_behind_the_ordinary_one() -> None:
    said = [("Longest of all answers", False), ("Anything else ", False), ("Short", False), ("As it should be", True)]
    ways = tuple(Way((Run(label), Run("→", True)), normal) for label, normal in said)
    full = CardBox(1, "check", (Run("Look"),), "", (), (), (Run("Step"),), ways)
    bare = [way.text[0].text for way in without_steps(full).ways]
    assert bare == ["As it should be", "Short", "Longest of all answers", "Anything else "]
    read = replace(full, reading=(Run("expect 24 V"),))
    assert without_steps(read).ways == ways, "ranges stay in their order"


def test_least_is_what_the_rule_measures(strain: Any) -> None:
    assert least(strain("plain"), "s").height <= layout.HEIGHT
    assert len(least(strain("many-causes"), "s").boxes) == 3
    assert least(strain("too-many-signs"), "s").height > layout.HEIGHT


def test_letters_go_on_after_z() -> None:
    letters = content.letters_of(f"c{i}" for i in range(54))
    assert [letters[f"c{i}"] for i in (0, 25, 26, 51, 52, 53)] == ["A", "Z", "AA", "AZ", "BA", "BB"]


# --- the page --------------------------------------------------------------------------------------------------------


def test_the_code_leads_to_the_page(strain: Any) -> None:
    """Read back by a general barcode library (QR code, ISO/IEC 18004)."""
    zxingcpp = pytest.importorskip("zxingcpp")
    printed = card(strain("plain"), "s")
    side = printed.qr_size + 8
    paper = np.full((side, side), 255, dtype=np.uint8)
    for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", printed.qr):
        paper[int(y) + 4, int(x) + 4] = 0
    (code,) = zxingcpp.read_barcodes(np.kron(paper, np.ones((4, 4), dtype=np.uint8)))
    assert code.text == "https://manual.example/service/symptoms/s.html"
    assert "card-qr" in rendered(printed)


def test_without_an_address_the_path_stands_instead(small: Library) -> None:
    bare = replace(small, manual=small.manual.model_copy(update={"site_url": None}))
    printed = card(bare, "step-stays-in")
    assert printed.qr == ""
    assert "card-qr" not in rendered(printed)
    assert "Page: symptoms/step-stays-in.html" in text(printed.foot[-1])


def test_the_page_escapes_what_authors_write_and_runs_nothing(strain: Any) -> None:
    printed = replace(card(strain("plain"), "s"), title="<b>Lamp</b> & <script>alert(1)</script>")
    html = rendered(printed)
    assert "&lt;script&gt;" in html
    assert not re.search(r"<script|\sstyle=|<style|\son\w+=", html)
    assert "default-src 'none'" in html
