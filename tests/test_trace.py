"""A trace in the terminal and for programs."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner, Result

from kbtools.cli import main
from kbtools.diagnosis.posterior import State, answered, posterior
from kbtools.library import Library
from kbtools.trace import Trace, TraceError, as_data, fits_nothing, given, left_behind, reading_of, start
from tests.content_case import SMALL


def run(*arguments: str, typed: str = "") -> Result:
    return CliRunner().invoke(main, ["trace", "--content", str(SMALL), *arguments], input=typed)


@pytest.fixture
def trace(small: Library) -> Trace:
    return start(small, "step-stays-in", "technician")


def test_json_keeps_the_contract() -> None:
    result = run("step-stays-in", "--json")
    assert result.exit_code == 0
    data = json.loads(result.output)
    assert list(data) == ["causes", "next", "expected_minutes"]
    odds = [cause["probability"] for cause in data["causes"]]
    assert sum(odds) == pytest.approx(1)
    assert odds[:-1] == sorted(odds[:-1], reverse=True)
    assert data["causes"][-1]["id"] == "unlisted"
    assert all(set(cause) == {"id", "title", "probability"} for cause in data["causes"])
    assert set(data["next"]) == {"kind", "id", "minutes"}
    assert data["next"]["kind"] in ("check", "remedy", "hand-over", "done")
    assert data["expected_minutes"] > 0


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("step-supply=none", "none"),
        ("step-supply=0,4", "none"),
        ("step-supply=24.6 V", "good"),
        ("step-supply=24,6v", "good"),
        ("step-supply=1", "low"),
        ("step-supply=22", "good"),
        ("step-supply=21.999", "low"),
        ("step-supply = −3", "none"),
        ("tractor-plugged-in=ignition-on", "ignition-on"),
    ],
)
def test_answers_by_id_and_by_reading(trace: Trace, text: str, outcome: str) -> None:
    after = given(trace, [text])
    (index, found), *_ = after.state.answers
    assert list(after.check(index).outcomes)[found] == outcome
    assert after.belief == pytest.approx(posterior(trace.network, answered(State(), index, found)).tolist())


@pytest.mark.parametrize(
    ("texts", "word"),
    [
        (["step-suply=none"], "Did you mean step-supply?"),
        (["nonsense-altogether=none"], "The checks of step-stays-in"),
        (["step-supply=god"], "Did you mean good?"),
        (["step-supply=24 A"], "read in V"),
        (["step-supply=24 bananas"], "read in V"),
        (["step-supply=1.234,5"], "no reading"),
        (["step-supply=9999999"], "out of all reason"),
        (["tractor-plugged-in=24"], "has no outcome"),
        (["step-supply"], "is not an answer"),
        (["=good"], "is not an answer"),
        (["step-supply="], "is not an answer"),
        (["step-supply=good", "step-supply=none"], "answered twice"),
        (["step-supply=good", "step-supply=?"], "answered twice"),
        (["remedy:fuse-f2-opn=failed"], "Did you mean fuse-f2-open?"),
        (["remedy:unlisted=failed"], "no cause 'unlisted'"),
        (["remedy:fuse-f2-open=mended"], "=failed or =x"),
    ],
)
def test_what_cannot_be_used_gives_one_clear_line_and_exit_2(texts: list[str], word: str) -> None:
    arguments = [part for text in texts for part in ("--given", text)]
    result = run("step-stays-in", "--json", *arguments)
    assert result.exit_code == 2
    assert word in result.output
    assert "Traceback" not in result.output
    assert len(result.output.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["step-stay-in"], "Did you mean step-stays-in?"),
        (["qqqq"], "kbtools search finds one"),
        (["step-stays-in", "--who", "ownr"], "Did you mean owner?"),
        (["step-stays-in", "--who", "nobody"], "There is: owner"),
        (["step-stays-in", "--content", "no/such/folder"], "no content folder"),
    ],
)
def test_unknown_names(arguments: list[str], word: str) -> None:
    result = run(*arguments, "--json")
    assert result.exit_code == 2
    assert word in result.output


def test_the_same_answer_twice_is_no_contradiction(trace: Trace) -> None:
    assert given(trace, ["step-supply=24", "step-supply=24"]).state == given(trace, ["step-supply=24"]).state


def test_not_sure_and_cannot_do(trace: Trace) -> None:
    unsure = given(trace, ["step-supply=?"])
    assert unsure.belief == pytest.approx(trace.belief)
    assert unsure.state.unsure == {2}
    cannot = given(trace, ["step-supply=x"])
    assert cannot.belief == pytest.approx(trace.belief)
    assert cannot.state.no_checks == {2}


def test_a_failed_remedy_takes_its_cause_out(trace: Trace) -> None:
    after = given(trace, ["remedy:fuse-f2-open=failed"])
    assert dict(after.causes())["fuse-f2-open"] == 0


def test_a_check_that_cured_is_done_and_its_failure_opens_the_trace_again(trace: Trace) -> None:
    done = given(trace, ["step-click=clicks-and-moves"])
    assert as_data(done)["next"] == {"kind": "done", "id": "door-switch-out-of-place", "minutes": 0.0}
    again = given(done, ["remedy:door-switch-out-of-place=failed"])
    assert again.action.kind != "done"
    assert dict(again.causes())["door-switch-out-of-place"] == 0


def test_answers_of_higher_people_are_taken_but_never_asked(small: Library) -> None:
    owner = given(start(small, "step-stays-in", "owner"), ["step-supply=none"])
    assert owner.belief != pytest.approx(start(small, "step-stays-in", "owner").belief)
    if owner.action.kind == "check" and owner.action.index is not None:
        assert owner.check(owner.action.index).who == "owner"


def test_contradictions_raise_what_nobody_has_listed(trace: Trace) -> None:
    odd = given(trace, ["tractor-plugged-in=unplugged", "step-click=silent", "step-supply=low"])
    assert odd.belief[-1] > trace.belief[-1] * 5
    assert fits_nothing(odd)
    assert (
        "fit none of the listed causes"
        in run("step-stays-in", "--given", "step-click=silent", "--given", "step-supply=low", typed="q\n").output
    )
    assert not fits_nothing(trace)


def test_what_was_left_is_put_back(trace: Trace) -> None:
    assert left_behind(given(trace, ["step-supply=none"])) == ["actuator-unplugged"]
    assert left_behind(given(trace, ["tractor-plugged-in=unplugged"])) == []
    assert "Put back:" in run("step-stays-in", "--given", "step-supply=none", typed="q\n").output


def test_safety_stands_before_everything_else() -> None:
    lines = run("step-stays-in", typed="q\n").output.splitlines()
    stop = next(i for i, line in enumerate(lines) if line.startswith("STOP at once"))
    first = next(i for i, line in enumerate(lines) if line.startswith("First:"))
    action = next(i for i, line in enumerate(lines) if line.startswith(("Check:", "Remedy for:")))
    assert stop < first < action
    assert lines[stop + 1].startswith("  - A hand or foot is in the linkage")


def test_a_whole_trace_to_the_remedy() -> None:
    # The first two steps are answered as they come; then the remedies fail until somebody else is needed.
    result = run("step-stays-in", "--who", "technician", typed="2\n" * 12)
    assert result.exit_code == 0
    assert "Hand over to:" in result.output or "Nobody may do more" in result.output
    assert "Traceback" not in result.output


def test_gone_and_proven_ends_it() -> None:
    arguments = [
        "--given",
        "step-supply=none",
        "--given",
        "step-click=clicks",
        "--given",
        "tractor-plugged-in=unplugged",
    ]
    result = run("step-stays-in", *arguments, typed="1\n")
    assert result.exit_code == 0
    assert "Remedy for: Fuse F2 is open" in result.output
    assert "Before it is replaced: A chafed wire" in result.output
    assert "Gone and proven" in result.output
    assert result.output.rstrip().splitlines()[-1].startswith("  - ")  # put back comes last


def test_undo_goes_back_one_step() -> None:
    once = run("step-stays-out", "--who", "owner", typed="?\nnonsense\nu\nq\n").output
    shown = [line for line in once.splitlines() if line.startswith(("Check:", "Remedy for:", "Hand over"))]
    assert len(shown) == 3
    assert shown[0].startswith("Check:")
    assert shown[1].startswith("Hand over to:")
    assert shown[2] == shown[0]
    assert "It is handed over" in once
    assert "nothing to undo" in run("step-stays-in", typed="u\nq\n").output


def test_slips_of_the_keyboard_are_told_and_the_trace_goes_on() -> None:
    result = run("step-stays-in", typed="\n99\nhello\n?\n0\nx\nq\n")
    assert result.exit_code == 0
    assert "Answer 1" in result.output


def test_an_outcome_with_a_precaution_says_it_at_once() -> None:
    result = run("step-stays-out", "--who", "owner", typed="2\nq\n")
    assert "Check: Does the step click" in result.output
    after = result.output.split("Answer 1 to 3", 1)[1]
    assert "At once: " in after
    assert after.index("At once: ") < after.index("Likely:")


def test_the_end_of_input_ends_the_trace() -> None:
    assert run("step-stays-in").exit_code == 0


def test_explain_shows_prior_row_and_posterior() -> None:
    result = run("step-stays-in", "--explain", "--given", "step-supply=none", "--given", "remedy:fuse-f2-open=failed")
    for word in ("prior: ", "step-supply=none: ", "remedy:fuse-f2-open=failed → ", "fuse-f2-open 0.300"):
        assert word in result.output


@pytest.mark.parametrize(
    ("text", "unit", "value"), [("24.6", "V", 24.6), ("+3", "", 3), (".5 mm", "mm", 0.5), ("- 2,5°", "°", -2.5)]
)
def test_readings(text: str, unit: str, value: float) -> None:
    assert reading_of(text, unit) == value


@pytest.mark.parametrize("text", ["", "V", "1 2", "1,2,3", "1e9", "٣٤"])
def test_what_is_no_reading(text: str) -> None:
    with pytest.raises(TraceError):
        reading_of(text, "V")
