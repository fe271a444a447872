"""The fault trace in a real browser: whole traces by keyboard, undo, reload, addresses, readings, ends and the call sheet."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from kbtools import trace as terminal
from kbtools.diagnosis.build import network_of
from kbtools.library import Library, open_content
from kbtools.model import Reviewed
from kbtools.site.build import build
from kbtools.site.edition import SERVICE

pytestmark = pytest.mark.browser

REAL = "dies-when-pump-starts"
FOLLOWS = "leg-moves-unasked"
"""A symptom whose checks call for precautions that its opening does not hold."""

WATCH = "document.addEventListener('securitypolicyviolation', e => console.error('CSP ' + e.violatedDirective + ' ' + e.blockedURI))"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="module")
def demo() -> Library:
    """The demo manual with two symptoms and what belongs to them."""
    library, _ = open_content(Path(__file__).parents[2] / "content")
    wanted = {REAL, FOLLOWS}
    for symptom in (REAL, FOLLOWS):
        network = network_of(library, symptom)
        wanted |= {*network.causes, *(check.id for check in network.checks)}
    entries = {
        kind: {i: entry for i, entry in table.items() if not isinstance(entry, Reviewed) or i in wanted}
        for kind, table in library.entries.items()
    }
    return replace(library, entries=entries)


@pytest.fixture(scope="module")
def real(demo: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(demo, SERVICE, tmp_path_factory.mktemp("real")).folder


class Trace:
    """One browser page with a trace; everything that the console says is kept in `said`."""

    def __init__(self, page: Any, site: Path, symptom: str) -> None:
        self.page, self.base = page, f"{site.as_uri()}/symptoms/{symptom}.html"
        self.said: list[str] = []
        page.on("console", lambda message: self.said.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.on("dialog", lambda dialog: dialog.accept())

    def open(self, fragment: str = "") -> None:
        self.page.goto("about:blank")
        self.page.goto(self.base + (f"#{fragment}" if fragment else ""))

    def keys(self, keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def take(self, check: str) -> None:
        """Brings a check forward, as one that is known already."""
        self.page.evaluate("document.querySelector('.sheet-known').open = true")
        self.page.locator(f".known-checks [data-id='{check}'] button").click()

    @property
    def title(self) -> str:
        return str(self.page.locator("#trace-title").inner_text())

    @property
    def kind(self) -> str:
        return str(self.page.locator(".action .kind").inner_text())

    @property
    def fragment(self) -> str:
        return str(self.page.url.partition("#")[2])

    @property
    def sheet(self) -> str:
        return str(self.page.locator("#trace-call").input_value())

    @property
    def notes(self) -> str:
        return str(self.page.locator(".sheet-notes").inner_text())

    def likeliest(self) -> str:
        return str(self.page.locator(".sheet-causes li").first.inner_text())

    def until(self, kind: str, keys: str = "1", most: int = 40) -> None:
        """Presses a key until the panel is of that kind."""
        for _ in range(most):
            if self.kind.startswith(kind):
                return
            self.keys(keys)
        raise AssertionError(f"no {kind} after {most} times {keys}: {self.kind}, {self.title}")


def opened(chromium: Any, site: Path, symptom: str, **settings: Any) -> Iterator[Trace]:
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, **settings)
    context.add_init_script(WATCH)
    trace = Trace(context.new_page(), site, symptom)
    trace.open()
    yield trace
    assert trace.said == []
    context.close()


@pytest.fixture
def step(chromium: Any, small_site: Path) -> Iterator[Trace]:
    yield from opened(chromium, small_site, "step-stays-in", accept_downloads=True)


@pytest.fixture
def dies(chromium: Any, real: Path) -> Iterator[Trace]:
    yield from opened(chromium, real, REAL)


@pytest.fixture
def moves(chromium: Any, real: Path) -> Iterator[Trace]:
    yield from opened(chromium, real, FOLLOWS)


# --- whole traces by keyboard ---


def test_a_trace_by_keyboard_to_a_remedy_that_is_proven(step: Trace) -> None:
    assert step.kind == "First question"
    assert "hurt or trapped" in step.title
    step.keys("1")
    step.until("Remedy", "2")
    cause = step.title
    step.keys("1")
    assert (step.kind, step.title) == ("Mended", cause)
    assert step.page.locator("[data-do='hand-over']").is_hidden()
    assert not step.page.locator(".sheet-side").get_by_text("%").first.is_visible(), "no percentages once it is mended"
    assert "Result: Mended. Cause: " + cause in step.sheet
    assert step.page.evaluate("localStorage.length") == 0


def test_a_remedy_that_failed_reopens_without_its_cause(step: Trace) -> None:
    step.keys("1")
    step.until("Remedy", "2")
    cause = step.title
    step.keys("2")
    assert step.title != cause
    row = step.page.locator(".sheet-causes li", has_text=cause)
    assert row.locator(".share").inner_text() == "not it"


def test_a_trace_by_keyboard_to_a_hand_over(dies: Trace) -> None:
    dies.page.locator("input[name='view'][value='desk']").check()
    assert dies.page.locator("input[name='who'][value='owner']").is_checked()
    dies.keys("1")
    asked = []
    for _ in range(30):
        if dies.kind == "Hand over":
            break
        asked.append(dies.title)
        dies.keys("?" if dies.kind.startswith("Check") else "2")
    assert dies.kind == "Hand over"
    assert dies.title == "Trained technician"
    assert len(asked) == len(set(asked)) > 1
    panel = dies.page.locator(".action").inner_text()
    assert "Likely causes" in panel
    assert "Bring" in panel
    assert "Use until mended" in panel
    dies.keys("1")
    assert dies.kind == "Handed over"
    assert "Result: Handed over to Trained technician" in dies.sheet
    dies.keys("1")
    assert "who=technician" in dies.fragment
    assert not dies.kind.startswith("Hand")


def test_nothing_above_the_level_is_proposed(dies: Trace) -> None:
    ranks = dies.page.evaluate("Object.fromEntries(Object.entries(kbTraceNumbers.checks).map(([k, v]) => [k, v.who]))")
    titles = dies.page.evaluate(
        "Object.fromEntries(Object.keys(kbTraceNumbers.checks).map(k => [kbTrace.words.check(k).title, k]))"
    )
    dies.page.locator("input[name='who'][value='owner']").check()
    dies.keys("1")
    seen = 0
    while dies.kind.startswith("Check"):
        assert ranks[titles[dies.title]] == 0
        seen += 1
        dies.keys("x")
    assert seen >= 2


def test_the_page_and_the_package_take_the_same_steps(dies: Trace, demo: Library) -> None:
    answers = ["?", "2", "1", "x", "3", "2", "1", "2"]
    dies.keys("1")
    for key in answers:
        given = re.findall(r"given=([^&]*)", dies.fragment)
        action = terminal.given(terminal.start(demo, REAL, "technician"), given).action
        kind, ident = dies.page.evaluate("[kbTrace.shown.kind, kbTrace.shown.id]")
        network = network_of(demo, REAL)
        assert kind == action.kind
        assert action.index is not None
        if kind == "check":
            assert ident == network.checks[action.index].id
        if kind == "remedy":
            assert demo.remedy_owner(network.remedies[action.index].id) == ident
        if kind not in ("check", "remedy"):
            break
        dies.keys(key if kind == "check" else "2")
    assert dies.fragment.count("given=") >= 5


# --- undo, reload, the address ---


def test_undo_takes_back_one_answer_after_the_other(step: Trace) -> None:
    seen = [(step.kind, step.title)]
    for key in "1xx":
        step.keys(key)
        seen.append((step.kind, step.title))
    for before in reversed(seen[:-1]):
        step.keys("u")
        assert (step.kind, step.title) == before
    assert step.page.locator("[data-do='undo']").is_disabled()


def test_a_reload_and_a_crash_lose_nothing(step: Trace) -> None:
    step.keys("1")
    step.take("step-click")
    step.keys("2")
    step.keys("1")
    before = (step.kind, step.title, step.fragment, step.sheet)
    step.page.reload()
    assert (step.kind, step.title, step.fragment, step.sheet) == before
    step.page.goto(step.base + "#checks")
    step.page.reload()
    assert (step.kind, step.title) == before[:2]
    step.keys("u")
    assert "given=" not in step.fragment


def test_an_unfinished_trace_stands_on_the_contents_page(step: Trace) -> None:
    step.keys("1x")
    fragment = step.fragment
    home = step.base.rpartition("symptoms/")[0] + "index.html"
    step.page.goto(home)
    link = step.page.locator("#kb-unfinished a")
    assert link.inner_text() == "The step will not come out"
    assert "1 answer" in step.page.locator("#kb-unfinished li").inner_text()
    link.click()
    assert step.fragment == fragment
    step.keys("?")
    step.page.goto(home)
    assert step.page.locator("#kb-unfinished li").count() == 1
    step.page.locator("#kb-unfinished button").click()
    assert step.page.locator("#kb-unfinished").is_hidden()
    assert step.page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('kb-trace ')).length") == 0


def test_a_new_visit_offers_the_unfinished_trace(step: Trace) -> None:
    step.keys("1x")
    fragment = step.fragment
    step.page.evaluate("sessionStorage.clear()")
    step.open()
    assert "unfinished trace" in step.notes
    step.page.get_by_role("button", name="Go on with it").click()
    assert step.fragment == fragment


def test_a_colleague_opens_the_same_point(step: Trace, chromium: Any) -> None:
    step.keys("1")
    step.page.locator(".sheet-head summary").click()
    step.page.locator("input[name='view'][value='desk']").check()
    step.take("step-supply")
    step.page.locator(".read input").fill("21,4")
    step.page.keyboard.press("Enter")
    other = chromium.new_context().new_page()
    other.goto(step.page.url)
    assert other.locator("#trace-title").inner_text() == step.title
    assert other.locator("#trace-call").input_value() == step.sheet
    assert other.url == step.page.url
    other.context.close()


@pytest.mark.parametrize(
    ("fragment", "says"),
    [
        ("t=1&safe=1&given=step-clik=silent", "the nearest is “step-click”"),
        ("t=1&safe=1&given=step-click=silnt", "the nearest is “silent”"),
        ("t=1&safe=1&given=step-click", "is no answer"),
        ("t=1&safe=1&given=step-supply=1_2_3", "is no reading"),
        ("t=1&safe=1&given=remedy:fuse-f2-open=perhaps", "is no result of a remedy"),
        ("t=1&who=nobody", "is no person here"),
        ("t=1&now=nothing", "is no check here"),
        ("t=1&at=moon&no=hammer", "is no place here"),
        ("t=9&rev=00000000&safe=1", "another release"),
        ("t=1&rev=00000000&given=step-click=clicks&safe=1", "begun with revision 00000000"),
        ("t=1&given=%E0%A4%A=1&given=&&&=&end=x&back=y&seen=z", "is no"),
    ],
)
def test_a_bad_address_gets_a_clear_word_and_the_trace_goes_on(step: Trace, fragment: str, says: str) -> None:
    step.open(fragment)
    assert says in step.notes
    if step.kind == "First question":
        step.keys("1")
    assert step.kind.startswith(("Check", "Remedy", "Hand"))
    step.keys("x")
    assert "t=1&rev=" in step.fragment
    assert step.page.locator(".sheet-notes").is_hidden()


def test_storage_that_is_blocked_or_full_is_said_and_the_trace_goes_on(step: Trace) -> None:
    step.page.add_init_script(
        "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError') }"
    )
    step.open()
    step.keys("1x")
    assert "keeps nothing" in step.notes
    before = step.title
    step.page.reload()
    assert step.title == before


# --- answers ---


def test_answers_are_changed_in_place(step: Trace) -> None:
    step.keys("1")
    step.take("step-click")
    step.keys("2")
    assert step.kind == "At once"
    assert step.title == "Keep off the step"
    step.keys("1")
    step.take("step-supply")
    step.keys("?")
    step.page.get_by_role("button", name="Change: Does the step click").click()
    assert "your answer before" in step.page.locator("button[data-outcome='silent']").inner_text()
    step.keys("1")
    assert "given=step-click=clicks&given=step-supply=?" in step.fragment


def test_the_same_precaution_may_be_due_twice(moves: Trace) -> None:
    moves.keys("1")
    due = moves.page.evaluate(
        "[...document.querySelectorAll('.checks > li')].flatMap(li => [...li.querySelectorAll('tr[data-then]')]"
        ".map(row => [li.dataset.check, row.dataset.outcome, row.dataset.then]))"
    )
    for check, outcome, precaution in due * 2:
        moves.page.evaluate(f"location.hash = '#t=1&safe=1&now={check}'")
        moves.page.locator(f"button[data-outcome='{outcome}']").click()
        assert moves.kind == "At once"
        original = moves.page.locator(f"[data-precaution='{precaution}'] .kb-precaution-title")
        assert original.count() == 1
        assert moves.title == original.text_content()
        assert moves.page.locator(".action .kb-steps").is_visible()
    assert due
    moves.keys("2")
    assert moves.kind == "Handed over"


def test_a_check_that_cured_it_is_held_to_it(step: Trace) -> None:
    step.keys("1")
    step.take("step-click")
    step.keys("3")
    assert step.kind == "Cured by this check?"
    step.keys("2")
    assert step.kind.startswith(("Check", "Remedy"))
    assert "given=step-click=clicks-and-moves!" in step.fragment
    step.keys("u1")
    assert (step.kind, step.title) == ("Mended", "Door switch out of place")


def test_readings_are_typed_with_a_comma_and_with_a_unit(step: Trace) -> None:
    step.keys("1")
    step.take("step-supply")
    box, says = step.page.locator(".read input"), step.page.locator(".read-says")
    for text, wanted in (
        ("21,4", "21.4 V: 1 to under 22 V"),
        ("22", "22 V: 22 V or more"),
        ("23500 mV", "23500 mV is 23.5 V. 23.5 V: 22 V or more"),
        ("−0,2 V", "−0.2 V: Under 1 V"),
        ("3 A", "not “A”"),
        ("much", "is no number"),
        ("1.2.3", "is no number"),
    ):
        box.fill(text)
        assert wanted in says.inner_text().replace("\u00a0", " ")
    assert step.page.locator(".reading-mark").count() == 0
    box.fill("21,4")
    assert step.page.locator(".reading-mark").count() == 1
    assert "is-read" in str(step.page.locator("button[data-outcome='low']").get_attribute("class"))
    box.press("Enter")
    assert "given=step-supply=21.4" in step.fragment
    assert "Voltage at the actuator: 21.4 V (1 to under 22 V)" in step.sheet.replace("\u00a0", " ")


def test_a_reading_out_of_reason_is_asked_about_once(step: Trace) -> None:
    step.keys("1")
    step.take("step-supply")
    box, says = step.page.locator(".read input"), step.page.locator(".read-says")
    box.fill("240")
    box.press("Enter")
    assert "far from what this check can show" in says.inner_text()
    box.fill("-12")
    box.press("Enter")
    assert "right way round" in says.inner_text()
    assert "given=" not in step.fragment
    box.press("Enter")
    assert "given=step-supply=-12" in step.fragment


def test_a_difference_has_two_boxes(dies: Trace) -> None:
    dies.keys("1")
    dies.take("drop-tp1-tp3-load")
    boxes = dies.page.locator(".read input")
    assert [dies.page.locator(f"label[for='trace-read-{i}']").inner_text()[:3] for i in (0, 1)] == ["TP1", "TP3"]
    boxes.nth(0).fill("24,6")
    boxes.nth(1).fill("23,1 V")
    assert "Difference 1.5 V" in dies.page.locator(".read-says").inner_text().replace("\u00a0", " ")
    boxes.nth(1).press("Enter")
    assert "given=drop-tp1-tp3-load=24.6_23.1" in dies.fragment
    assert "24.6 V and 23.1 V, difference 1.5 V" in dies.sheet.replace("\u00a0", " ")


def test_keys_rest_while_somebody_types_or_when_they_are_off(step: Trace) -> None:
    step.keys("1")
    step.take("step-supply")
    step.page.locator(".read input").focus()
    step.keys("1?xu")
    assert step.page.locator(".read input").input_value() == "1?xu"
    assert "given=" not in step.fragment
    step.page.locator("input[name='keys']").uncheck()
    step.page.locator("#trace-title").focus()
    step.keys("?")
    assert "given=" not in step.fragment


def test_answers_that_fit_nothing_raise_the_unlisted_cause_and_it_is_said(step: Trace) -> None:
    step.open("t=1&safe=1&given=tractor-plugged-in=unplugged&given=step-click=clicks&given=step-supply=low")
    share = step.page.locator(".sheet-causes .unlisted .share").inner_text()
    assert int(share.split()[0]) >= 30
    assert "fit none of the listed causes" in step.notes
    step.page.get_by_role("button", name="Look again").click()
    assert step.title == "Voltage at the actuator"


# --- what is at hand, the fault away, the ends ---


def test_missing_tools_and_helpers_leave_out_what_needs_them(step: Trace) -> None:
    numbers = step.page.evaluate("kbTraceNumbers")
    assert numbers["checks"]["step-supply"]["tools"] == ["multimeter"]
    for change in ("no=multimeter", "alone=1"):
        step.open(f"t=1&safe=1&{change}")
        seen = set()
        while step.kind.startswith(("Check", "Remedy")):
            seen.add(step.title)
            step.keys("x")
        assert seen
        assert "Voltage at the actuator" not in seen


def test_where_the_person_stands_saves_the_way(step: Trace) -> None:
    step.keys("1")
    step.page.evaluate("document.querySelector('.sheet-has').open = true")
    before = step.page.locator(".sheet-minutes").inner_text()
    step.page.locator("select[name='at']").select_option("step-well")
    assert "at=step-well" in step.fragment
    assert step.page.locator(".sheet-minutes").inner_text() != before


def test_the_fault_is_not_there_now(step: Trace) -> None:
    step.keys("1")
    step.page.locator("[data-do='away']").click()
    seen = []
    while step.kind.startswith(("Check", "Remedy")):
        seen.append(step.title)
        step.keys("x")
    assert "Does the step click when the door moves?" not in seen
    assert step.title == "Not found: watch for this"
    assert "Do you hear a click each time?" in step.page.locator(".watch").inner_text()
    step.keys("2")
    assert "end=watch" in step.fragment
    assert "To be watched" in step.sheet
    step.keys("1")
    assert "away=1" not in step.fragment


def test_what_was_left_behind_is_put_back(step: Trace) -> None:
    step.keys("1")
    step.take("step-supply")
    step.keys("1")
    assert "[ ] Actuator unplugged: Push the plug in until it clicks." in step.sheet
    step.until("Remedy", "?")
    step.keys("1")
    assert step.kind == "Mended"
    step.page.locator(".sheet-back input").check()
    assert "back=actuator-unplugged" in step.fragment
    assert "[x] Actuator unplugged" in step.sheet


def test_the_call_sheet_is_copied_and_one_line_is_saved(step: Trace, small: Library) -> None:
    step.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    step.keys("1")
    step.take("tractor-plugged-in")
    step.keys("2")
    step.until("Remedy", "?")
    step.keys("1")
    step.page.locator(".action [data-do='copy']").click()
    step.page.wait_for_function("() => document.querySelector('.sheet-status').textContent.includes('copied')")
    assert step.page.evaluate("navigator.clipboard.readText()") == step.sheet
    with step.page.expect_download() as download:
        step.page.locator(".action [data-do='save']").click()
    line = Path(download.value.path()).read_text(encoding="utf-8")
    assert line.count("\n") == 1
    assert json.loads(line) == {
        "revision": small.revision,
        "symptom": "step-stays-in",
        "who": "technician",
        "end": "mended",
        "cause": "coupled-locks-step",
        "given": ["tractor-plugged-in=ignition-on", "remedy:coupled-locks-step=gone"],
    }


# --- safety, reading aloud, looks ---


def test_warnings_stand_before_the_answers_and_cannot_be_sent_away(step: Trace) -> None:
    step.keys("1")
    step.take("step-supply")
    panel = step.page.locator(".action > .kb-panel.kb-warning")
    assert "crushes a hand or foot" in panel.inner_text()
    assert panel.locator("button, a").count() == 0
    order = step.page.evaluate("[...document.querySelectorAll('.action > *')].map(e => e.className)")
    assert next(i for i, c in enumerate(order) if "kb-panel" in c) < order.index("steps") < order.index("choices")


def test_what_held_for_an_answer_before_is_named_in_one_line(dies: Trace) -> None:
    dies.keys("1")
    dies.take("drop-tp1-tp3-load")
    before = dies.page.locator(".action .needs > ul > li > a").all_inner_texts()
    assert len(before) > 1
    assert dies.page.locator(".action .still").count() == 0
    dies.page.locator("button[data-outcome]").first.click()
    dies.take("drop-tp1-tp3-load")
    still = dies.page.locator(".action .still")
    assert still.locator("summary").inner_text() == f"Still so: {', '.join(before[:-1])} and {before[-1]}"
    assert not still.locator("li").first.is_visible()
    assert "as before" in dies.page.locator(".action .job").inner_text()


def test_the_stop_key_is_in_sight_and_leads_to_the_emergency_page(step: Trace) -> None:
    for width in (360, 1280):
        step.page.set_viewport_size({"width": width, "height": 740})
        step.page.evaluate("window.scrollTo(0, 3000)")
        box = step.page.locator(".stopkey").bounding_box()
        assert box["y"] + box["height"] <= 740
        assert box["height"] >= 44
    step.keys("!")
    step.page.wait_for_url("**/emergency.html")


def test_moves_are_announced_and_the_focus_follows(step: Trace) -> None:
    step.keys("1")
    step.take("step-click")
    assert step.page.evaluate("document.activeElement.id") == "trace-title"
    status = step.page.locator(".sheet-status")
    assert status.get_attribute("role") == "status"
    assert step.title in status.inner_text()


def test_desk_asks_and_technician_does(step: Trace) -> None:
    step.keys("1")
    step.take("step-click")
    assert step.page.locator(".ask-big").count() == 0
    assert step.page.locator(".action > .steps").is_visible()
    step.page.locator(".sheet-head summary").click()
    step.page.locator("input[name='view'][value='desk']").check()
    assert step.page.locator(".ask-big").inner_text().startswith("Open and shut the door slowly.")
    assert not step.page.locator(".action .steps").is_visible()
    step.page.reload()
    assert step.page.locator(".ask-big").is_visible()


def test_a_caller_is_taken_for_the_lowest_person_until_it_is_said_otherwise(step: Trace) -> None:
    step.page.locator("input[name='view'][value='desk']").check()
    step.page.locator("input[name='who'][value='specialist']").check()
    step.keys("1")
    step.page.evaluate("sessionStorage.clear()")
    step.open()
    assert step.page.locator("input[name='who'][value='owner']").is_checked()
    step.page.locator("input[name='view'][value='hands']").check()
    step.page.locator("input[name='who'][value='specialist']").check()
    step.page.evaluate("sessionStorage.clear()")
    step.open()
    assert step.page.locator("input[name='who'][value='specialist']").is_checked()


def test_work_above_the_person_is_answered_but_never_begun(step: Trace) -> None:
    step.page.locator("input[name='who'][value='owner']").check()
    step.keys("1")
    step.take("step-supply")
    assert "Only for: Trained technician" in step.page.locator(".not-for-them").inner_text()
    step.take("step-click")
    assert step.page.locator(".not-for-them").count() == 0


def states(trace: Trace) -> Iterator[str]:
    """Every kind of panel, one after the other."""
    yield "gate"
    trace.keys("1")
    yield "first"
    for check in trace.page.evaluate("Object.keys(kbTraceNumbers.checks).slice(0, 3)"):
        trace.take(check)
        yield check
    trace.keys("?")
    trace.page.evaluate("document.querySelectorAll('.sheet details').forEach(d => { d.open = true })")
    yield "all open"
    trace.page.locator("[data-do='hand-over']").click()
    yield "handed over"
    trace.open("t=1&safe=1&rev=00000000&away=1&given=no=1")
    yield "notes"


@pytest.mark.parametrize(("width", "scheme"), [(360, "light"), (1280, "dark")])
@pytest.mark.parametrize("site", ["step", "dies"])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(
    request: pytest.FixtureRequest, site: str, width: int, scheme: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    trace: Trace = request.getfixturevalue(site)
    trace.page.set_viewport_size({"width": width, "height": 740})
    trace.page.emulate_media(color_scheme=scheme)
    trace.page.reload()
    for state in states(trace):
        found = axe.run(trace.page, context=".sheet", options={"runOnly": TAGS, "preload": False}).response[
            "violations"
        ]
        assert [(state, one["id"], [node["html"][:150] for node in one["nodes"]]) for one in found] == []
        assert trace.page.evaluate("document.documentElement.scrollWidth") <= width, state
        sizes = trace.page.evaluate(
            "[...document.querySelectorAll('.sheet button, .sheet summary, .sheet select, .stopkey')]"
            ".filter(e => e.checkVisibility()).map(e => Math.round(e.getBoundingClientRect().height))"
        )
        assert min(sizes) >= 24, state  # WCAG 2.2 SC 2.5.8


def test_without_scripts_the_procedure_is_plain_html(chromium: Any, small_site: Path) -> None:
    page = chromium.new_context(java_script_enabled=False).new_page()
    page.goto(f"{small_site.as_uri()}/symptoms/step-stays-in.html")
    assert page.locator(".sheet").is_hidden()
    assert page.locator(".stopkey").is_hidden()
    page.locator(".trace-plain a").click()
    boxes = page.locator(".chart > li")
    assert boxes.count() >= 2
    assert "→" in boxes.first.inner_text()
    check = page.locator("[data-check='step-supply']")
    assert not check.locator(".reads").is_visible()
    check.locator("summary").click()
    assert check.locator(".reads").is_visible()
    page.context.close()
