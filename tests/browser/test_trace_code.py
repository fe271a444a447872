"""The short code of a trace in a real browser: there and back, mistakes found, typed in on both contents pages."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from kbtools.library import Library, open_content
from kbtools.site import trace
from kbtools.site.build import build
from kbtools.site.codes import SIGNS, code_json, code_tables
from kbtools.site.edition import SERVICE
from tests.content_case import TOPIC, Content

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]
PAGE = "symptoms/step-stays-in.html"
SERVICE_LABEL = "Code of a trace, from an owner's page or a call sheet"
OWNER_LABEL = "Code that we read out to you"


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(ROOT / "content")[0]


@pytest.fixture(scope="module")
def coder(chromium: Any) -> Iterator[Any]:
    """A blank page with the code's own script."""
    page = chromium.new_page()
    page.add_script_tag(path=str(ROOT / "site_overrides/assets/trace-code.js"))
    yield page
    page.close()


def numbers_of(library: Library) -> dict[str, Any]:
    """Symptom → what its page's numbers file holds."""
    tables = code_json(code_tables(library))
    found = {}
    for path, text in trace.scripts(library, None, tables):
        found[Path(path).stem] = json.loads(text.partition("= ")[2].removesuffix(";\n"))
    return found


def said(check: Mapping[str, Any], dice: random.Random) -> dict[str, str]:
    answer = dice.choice([*check["outcomes"], "?", "x"])
    hold = dice.choice(["", "!", "."]) if answer in check["fixed"] else ""
    return {"answer": answer, **({"hold": hold} if hold else {})}


def some_trace(numbers: Mapping[str, Any], dice: random.Random, answers: int, plain: bool = False) -> dict[str, Any]:
    """A trace with so many answers to different checks and remedies, and settings as they may be."""
    actions = [("check", i) for i in numbers["checks"]] + [("remedy", i) for i in numbers["remedies"]]
    dice.shuffle(actions)
    log = []
    for kind, ident in actions[:answers]:
        given = {"answer": dice.choice(["gone", "failed", "done", "x"])}
        log.append({"kind": kind, "id": ident, **(given if kind == "remedy" else said(numbers["checks"][ident], dice))})
    state = {
        "who": numbers["people"][0],
        "safe": True,
        "away": False,
        "alone": False,
        "end": "",
        "at": "",
        "missing": [],
    }
    if not plain:
        state = {
            "who": dice.choice(numbers["people"]),
            "safe": dice.random() < 0.5,
            "away": dice.random() < 0.5,
            "alone": dice.random() < 0.5,
            "end": dice.choice(["", "handed", "watch"]),
            "at": dice.choice(["", *numbers["places"]]),
            "missing": [tool for tool in numbers["tools"] if dice.random() < 0.3],
        }
    return {**state, "log": log}


BACK = """cases => cases.map(([numbers, state, unit]) => {
  const code = kbTrace.code.written(state, numbers, unit), found = kbTrace.code.read(code.toLowerCase(), numbers);
  return [code, found];
})"""


def test_any_trace_of_the_demo_comes_back_whole(coder: Any, demo: Library) -> None:
    dice = random.Random(7)
    cases = []
    for numbers in numbers_of(demo).values():
        for answers in (0, 1, 4, 9, 40):
            unit = dice.choice(
                [None, {"type": "w6", "serial": 20731}, {"type": "w4", "serial": None}, {"type": "w4", "serial": 0}]
            )
            cases.append([numbers, some_trace(numbers, dice, answers), unit])
    for (_, state, unit), (code, found) in zip(cases, coder.evaluate(BACK, cases), strict=True):
        assert "wrong" not in found, code
        assert found["left"] == 0
        assert found["unit"] == unit
        back = {"at": "", "missing": [], **found["state"]}
        assert back == state, code


def test_four_answers_fit_four_groups_of_four(coder: Any, demo: Library) -> None:
    """And five groups with the unit's serial number, or with what is at hand."""
    dice = random.Random(3)
    cases = [
        [n, some_trace(n, dice, 4, plain=True), unit]
        for n in numbers_of(demo).values()
        for unit in (None, {"type": "w6", "serial": 20731})
    ]
    for (_, state, unit), (code, _) in zip(cases, coder.evaluate(BACK, cases), strict=True):
        assert len(state["log"]) == 4
        assert [len(group) for group in code.split("-")] == [4] * (5 if unit else 4)


def test_an_owner_reads_the_same_answers_and_counts_those_that_are_not_for_owners(coder: Any, demo: Library) -> None:
    dice = random.Random(11)
    whole, ours = numbers_of(demo), code_json(code_tables(demo, owner=True))
    cases, theirs = [], []
    for symptom, table in ours.items():
        state = some_trace(whole[symptom], dice, 8)
        cases.append([whole[symptom], state, None])
        theirs.append({**whole[symptom], "people": ["owner"], "places": [], "tools": [], "code": table})
    codes = [code for code, _ in coder.evaluate(BACK, cases)]
    read = coder.evaluate(
        "pairs => pairs.map(([code, numbers]) => kbTrace.code.read(code, numbers))",
        [list(pair) for pair in zip(codes, theirs, strict=True)],
    )
    left = 0
    for (_, state, _), found, numbers in zip(cases, read, theirs, strict=True):
        own = [
            e
            for e in state["log"]
            if ("remedy:" if e["kind"] == "remedy" else "") + e["id"] in numbers["code"]["items"]
        ]
        assert found["state"]["log"] == own
        assert found["state"]["who"] == "owner"
        assert found["left"] == len(state["log"]) - len(own)
        left += found["left"]
    assert left > 100


# --- mistakes ---


def gf32(a: int, b: int) -> int:
    """The product in GF(32) by x⁵ + x² + 1, by long multiplication and division."""
    product = 0
    for bit in range(5):
        product ^= (a << bit) * (b >> bit & 1)
    for bit in range(9, 4, -1):
        product ^= (0b100101 << bit - 5) * (product >> bit & 1)
    return product


def at(values: list[int], point: int) -> int:
    """A polynomial's value, highest power first."""
    result = 0
    for value in values:
        result = gf32(result, point) ^ value
    return result


def test_the_check_signs_make_both_sums_zero(coder: Any, small: Library) -> None:
    """A Reed–Solomon code with two check signs (Reed and Solomon 1960): zero at 1 and at 2, 1 being added to its first sign.

    The field's arithmetic here is written out anew; that two roots find any two errors is the code's distance, 3.
    """
    assert len({at([1, *[0] * power], 2) for power in range(31)}) == 31, "2 makes all of the field"
    dice = random.Random(1)
    numbers = numbers_of(small)["step-stays-in"]
    cases = [[numbers, some_trace(numbers, dice, answers), None] for answers in range(8)]
    for code, _ in coder.evaluate(BACK, cases):
        values = [SIGNS.index(sign) for sign in code.replace("-", "")]
        values[0] ^= 1
        assert (at(values, 1), at(values, 2)) == (0, 0)


SPOILT = """([code, numbers, signs]) => {
  const one = code.replace(/-/g, '').split(''), list = [];
  const look = (kind, text) => { const found = kbTrace.code.read(text, numbers); list.push(kind); if (!found.wrong) { passed.push(kind + ' ' + text); } };
  const passed = [];
  one.forEach((sign, i) => signs.forEach(other => { if (other !== sign) { look('sign', one.map((s, j) => j === i ? other : s).join('')); } }));
  one.forEach((sign, i) => { for (let j = i + 1; j < one.length; j += 1) { if (one[j] !== sign) {
    look(j === i + 1 ? 'neighbours' : 'swap', one.map((s, k) => k === i ? one[j] : k === j ? sign : s).join('')); } } });
  const counts = {};
  list.forEach(kind => { counts[kind] = (counts[kind] || 0) + 1; });
  return { counts, passed };
}"""


@pytest.mark.parametrize("answers", [1, 4, 9])
def test_every_one_wrong_sign_and_every_swap_of_two_is_found(coder: Any, demo: Library, answers: int) -> None:
    numbers = numbers_of(demo)["fault-3"]
    for seed in range(4):
        ((code, _),) = coder.evaluate(BACK, [[numbers, some_trace(numbers, random.Random(seed), answers), None]])
        length = len(code.replace("-", ""))
        assert length <= 31
        found = coder.evaluate(SPOILT, [code, numbers, list(SIGNS)])
        assert found["passed"] == []
        assert found["counts"]["sign"] == 31 * length
        assert found["counts"]["neighbours"] >= length / 2


def test_long_codes_still_find_one_wrong_sign_and_neighbours_that_changed_places(coder: Any, demo: Library) -> None:
    numbers = numbers_of(demo)["fault-3"]
    ((code, _),) = coder.evaluate(BACK, [[numbers, some_trace(numbers, random.Random(5), 34), None]])
    assert len(code) > 80
    passed = coder.evaluate(SPOILT, [code, numbers, list(SIGNS)])["passed"]
    assert [text for text in passed if not text.startswith("swap")] == []


PAIRS = """([code, numbers, signs]) => {
  const one = code.replace(/-/g, ''); let count = 0, passed = 0;
  for (let i = 0; i < one.length; i += 1) { for (let j = i + 1; j < one.length; j += 1) {
    for (const a of signs) { for (const b of signs) { if (a !== one[i] && b !== one[j]) {
      count += 1;
      if (!kbTrace.code.read(one.slice(0, i) + a + one.slice(i + 1, j) + b + one.slice(j + 1), numbers).wrong) { passed += 1; }
    } } }
  } }
  return [count, passed];
}"""


def test_any_two_wrong_signs_of_a_short_code_are_found(coder: Any, small: Library) -> None:
    numbers = numbers_of(small)["step-stays-in"]
    ((code, _),) = coder.evaluate(BACK, [[numbers, some_trace(numbers, random.Random(2), 2, plain=True), None]])
    length = len(code.replace("-", ""))
    assert length == 12
    assert coder.evaluate(PAIRS, [code, numbers, list(SIGNS)]) == [length * (length - 1) // 2 * 31 * 31, 0]


def test_a_sign_left_out_or_written_twice_is_found(coder: Any, demo: Library) -> None:
    """Not by proof: by trying each place of a hundred codes. Two equal neighbours hide which of them was left out."""
    dice = random.Random(9)
    numbers = numbers_of(demo)["pump-silent"]
    codes = [
        code.replace("-", "")
        for code, _ in coder.evaluate(
            BACK, [[numbers, some_trace(numbers, dice, 4, plain=True), None] for _ in range(100)]
        )
    ]
    wrong = [code[:i] + code[i + 1 :] for code in codes for i in range(len(code))]
    wrong += [code[: i + 1] + code[i:] for code in codes for i in range(len(code))]
    found = coder.evaluate(
        "([codes, numbers]) => codes.map(code => kbTrace.code.read(code, numbers).wrong || '')", [wrong, numbers]
    )
    assert len(found) == 3200
    assert all(found)


def test_signs_that_look_alike_are_taken_for_what_they_mean(coder: Any, small: Library) -> None:
    """Crockford's base 32 (crockford.com/base32.html): O is read as 0, I and L as 1; hyphens and case do not matter."""
    dice = random.Random(4)
    numbers = numbers_of(small)["step-stays-in"]
    tried = 0
    for code, found in coder.evaluate(BACK, [[numbers, some_trace(numbers, dice, 3), None] for _ in range(40)]):
        for old, new in (("0", "o"), ("1", "I"), ("1", "l")):
            if old in code:
                typed = f" {code.replace(old, new).replace('-', ' – ')} "
                assert (
                    coder.evaluate("([code, numbers]) => kbTrace.code.read(code, numbers)", [typed, numbers]) == found
                )
                tried += 1
    assert tried > 20


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Type the code first"),
        ("7K2U 0000", "“U” is no sign of a code"),
        ("7K2", "too short"),
        ("0000-0000-0000", "A sign of this code is wrong"),
    ],
)
def test_what_is_no_code_is_told_plainly(coder: Any, small: Library, text: str, words: str) -> None:
    numbers = numbers_of(small)["step-stays-in"]
    assert words in coder.evaluate("([code, numbers]) => kbTrace.code.read(code, numbers).wrong", [text, numbers])


# --- the contents pages ---


def press(page: Any, label: str) -> None:
    page.get_by_role("button", name=label, exact=True).click()


def type_in(page: Any, site: Path, label: str, text: str) -> None:
    page.goto("about:blank")
    page.goto((site / "index.html").as_uri())
    page.get_by_label(label).fill(text)
    page.keyboard.press("Enter")


def test_an_owners_code_opens_the_same_point_for_the_desk(
    chromium: Any, small_site: Path, small_owner_site: Path
) -> None:
    page = chromium.new_page()
    page.goto((small_owner_site / PAGE).as_uri())
    press(page, "Yes, it is done. Start.")
    press(page, "Plugged in with the key on")
    press(page, "It is still there")
    code = page.locator(".code").inner_text()
    assert len(code) == 14
    given = page.url.partition("&given=")[2]
    type_in(page, small_site, SERVICE_LABEL, code.lower().replace("-", " "))
    page.wait_for_url("**/" + PAGE + "#t=1*")
    assert "who=owner&view=desk&safe=1" in page.url
    assert page.url.partition("&given=")[2] == given
    page.close()


def test_a_technicians_code_opens_an_owners_page_with_what_is_an_owners(
    chromium: Any, small_site: Path, small_owner_site: Path
) -> None:
    page = chromium.new_page()
    fragment = "t=1&who=technician&safe=1&given=step-supply=good&given=tractor-plugged-in=unplugged"
    page.goto((small_site / PAGE).as_uri() + "#" + fragment)
    code = page.evaluate(
        "kbTrace.code.written(kbTrace.state.fromFragment(location.hash, kbTraceNumbers, {}).state, kbTraceNumbers, null)"
    )
    type_in(page, small_owner_site, OWNER_LABEL, code)
    page.wait_for_url("**/" + PAGE + "#t=1*")
    assert page.locator(".turn:not([hidden]) h3").inner_text() == "Is everybody safe?"
    assert page.locator(".sofar-list li").all_inner_texts() == [
        "Is the tractor plugged in? Unplugged, or the key is off"
    ]
    assert "1 more answer that is for us alone" in page.locator(".noted").inner_text()
    page.close()


def test_a_code_survives_changed_words_and_names_the_page_when_its_checks_changed(
    chromium: Any, content: Content, small_site: Path, tmp_path: Path
) -> None:
    page = chromium.new_page()
    page.goto((small_site / PAGE).as_uri() + "#t=1&who=technician&safe=1&given=tractor-plugged-in=unplugged")
    code = page.evaluate(
        "kbTrace.code.written(kbTrace.state.fromFragment(location.hash, kbTraceNumbers, {}).state, kbTraceNumbers, null)"
    )
    content.edit(TOPIC, "    title: Is the tractor plugged in?", "    title: Is the tractor's plug in?")
    reworded = build(open_content(content.folder)[0], SERVICE, tmp_path / "reworded").folder
    type_in(page, reworded, SERVICE_LABEL, code)
    page.wait_for_url("**/" + PAGE + "#t=1*")
    assert "Is the tractor's plug in?" in page.locator(".sheet-answers").inner_text()
    assert page.locator(".sheet-notes").is_hidden()
    text = (content.folder / TOPIC).read_text("utf-8")
    content.write(TOPIC, text.replace("      ignition-on:", "      key-on:"))
    changed = build(open_content(content.folder)[0], SERVICE, tmp_path / "changed").folder
    type_in(page, changed, SERVICE_LABEL, code)
    alert = page.locator("#kb-code-said")
    assert "another revision" in alert.inner_text()
    alert.get_by_role("link", name="The step will not come out").click()
    page.wait_for_url("**/" + PAGE)
    page.goto((changed / PAGE).as_uri() + "#code=" + code)
    page.locator(".sheet-notes").get_by_text("another revision of this one").wait_for()
    page.close()


def test_a_pasted_address_opens_here_whatever_manual_it_came_from(chromium: Any, small_site: Path) -> None:
    page = chromium.new_page()
    type_in(
        page,
        small_site,
        SERVICE_LABEL,
        f"https://manual.example/service/{PAGE}?unit=x#t=1&rev=00000000&who=technician&safe=1&given=tractor-plugged-in=unplugged",
    )
    page.locator(".sheet-notes").get_by_text("begun with revision 00000000").wait_for()
    assert page.url.startswith((small_site / PAGE).as_uri() + "#t=1")
    type_in(page, small_site, SERVICE_LABEL, "symptoms/gone.html#t=1&safe=1")
    assert page.locator("#kb-code-said").inner_text() == "This manual has no page “gone”."
    page.close()


def test_an_address_with_a_code_leads_on_from_the_contents_page(chromium: Any, small_site: Path) -> None:
    page = chromium.new_page()
    page.goto((small_site / PAGE).as_uri() + "#t=1&who=specialist&safe=1&given=tractor-plugged-in=x")
    code = page.evaluate(
        "kbTrace.code.written(kbTrace.state.fromFragment(location.hash, kbTraceNumbers, {}).state, kbTraceNumbers, null)"
    )
    page.goto("about:blank")
    page.goto((small_site / "index.html").as_uri() + "#code=" + code)
    page.wait_for_url(f"**/{PAGE}#t=1*")
    assert "who=specialist" in page.url
    assert "given=tractor-plugged-in=x" in page.url
    page.goto("about:blank")
    page.goto((small_site / "index.html").as_uri() + "#code=" + code[:-1] + ("0" if code[-1] != "0" else "1"))
    page.locator("#kb-code-said").get_by_text("Have it read out once more").wait_for()
    assert page.get_by_label(SERVICE_LABEL).evaluate("e => e === document.activeElement")
    page.close()
