"""kbtools search: contract, reasons, review, cache and bad input."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kbtools.cli import main
from kbtools.library import Library
from kbtools.search.cache import KEPT, open_search
from tests.content_case import SMALL, TOPIC, Content


@pytest.fixture(autouse=True)
def _cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_cache_path", lambda name: tmp_path / "cache" / name)


def _run(*words: str) -> Result:
    result = CliRunner().invoke(main, ["search", "--content", str(SMALL), *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_json_is_the_contract() -> None:
    found = json.loads(_run("--json", "--", "step", "come", "out").output)
    assert set(found) == {"results", "others"}
    assert [set(hit) for hit in found["results"]] == [{"id", "title", "score"}] * 2
    assert found["results"][0]["id"] == "step-stays-in"
    assert all(set(hit) == {"kind", "id", "title", "score"} for hit in found["others"])
    for hits in found.values():
        scores = [hit["score"] for hit in hits]
        assert scores == sorted(scores, reverse=True)


def test_text_marks_words_and_says_why() -> None:
    text = _run("--", "stpe", "hangs", "out").output
    assert "Read as: stpe → step" in text
    assert "“the *step* *hangs* *out* all the time”" in text
    assert "exact: hangs, out; corrected: step from stpe" in text


def test_explain_adds_up() -> None:
    text = _run("--explain", "--", "F2").output
    line = next(line for line in text.splitlines() if " = (" in line)
    total, terms = line.split(" = (")
    assert int(total) == sum(int(part.split()[0]) for part in terms.split(")")[0].split(" + "))
    why = json.loads(_run("--explain", "--json", "--", "F2").output)["results"][0]["why"]
    assert why == [{"term": "f2", "how": "exact", "word": "f2", "points": int(total)}]


def test_a_reading_names_its_outcome() -> None:
    assert "check Voltage at the actuator: 1 to under 22 V  (step-supply)" in _run("--", "10,5 V at M41 plug").output
    assert "check Voltage at the actuator  (step-supply)" in _run("--", "10 A at M41 plug").output


def test_nothing_found_says_what_to_try() -> None:
    result = _run("--", "xyzzy")
    assert result.exit_code == 0
    assert "Try fewer or other words" in result.output
    assert json.loads(_run("--json", "--", "xyzzy").output) == {"results": [], "others": []}


def test_what_is_most_likely_about_something_else_is_said_first() -> None:
    lines = _run("--", "how", "long", "does", "my", "fridge", "stay", "cold").output.splitlines()
    assert lines[:2] == [
        "Nothing in this manual is about that. It does not know: long, fridge, cold.",
        "Nearest, perhaps not it:",
    ]
    assert lines[2].startswith(" 1. The step will not ")
    assert "Nothing in this manual" not in _run("--", "step", "hangs", "out").output


@pytest.mark.parametrize(
    "text",
    [
        "step " * 2_000,
        "🚚🔥",
        "الدرج لا يخرج",
        "?!.,;:",
        "--",
        "-step",
        "<b>step</b> <script>alert(1)</script>",
        "step.* [out] (a|b)+ \\ $^",
        "%00%ff \x00 \x1b[31m",
        " ",
        "\ud800",
    ],
)
def test_any_text_is_allowed(text: str, small: Library) -> None:
    assert _run("--json", "--", text).exit_code == 0
    found = open_search(small).ask(text, typing=True)
    assert all(hit.score > 0 for hit in found.symptoms)


@pytest.mark.parametrize(
    ("words", "message"), [((), "say what to search for"), (("--review", "x", "--", "y"), "no WORDS")]
)
def test_wrong_usage(words: tuple[str, ...], message: str) -> None:
    result = _run(*words)
    assert result.exit_code == 2
    assert message in result.output


def test_errors_in_the_content_come_first(content: Content) -> None:
    content.edit(TOPIC, "prove_by: step-click", "prove_by: step-clik")
    result = CliRunner().invoke(main, ["search", "--content", str(content.folder), "--", "step"])
    assert result.exit_code == 1
    assert "Did you mean step-click?" in result.output


def test_review_lists_queries_with_their_nearest_symptoms(tmp_path: Path) -> None:
    notes = [{"query": "step  hangs", "found": 2}, {"query": "ladder", "found": 0}, {"query": "step hangs", "found": 2}]
    file = tmp_path / "notes.json"
    file.write_text(json.dumps({"kind": "kbtools search notes", "notes": [*notes, 7, {"query": " "}]}))
    lines = _run("--review", str(file)).output.splitlines()
    assert lines[:3] == [
        "2 different queries that led to no page:",
        '2 × "step hangs" (nothing was opened)',
        "      The step will not fold  (step-stays-out)",
    ]
    assert lines[-1] == '1 × "ladder" (found nothing)'
    listed = json.loads(_run("--review", str(file), "--json").output)["notes"]
    assert [(note["query"], note["times"], len(note["nearest"])) for note in listed] == [
        ("step hangs", 2, 2),
        ("ladder", 1, 0),
    ]


@pytest.mark.parametrize(
    "text", ["", "[]", "{", '{"kind": "other", "notes": []}', '{"kind": "kbtools search notes"}', "[" * 9_999]
)
def test_review_of_something_else(tmp_path: Path, text: str) -> None:
    file = tmp_path / "notes.json"
    file.write_text(text)
    result = _run("--review", str(file))
    assert result.exit_code == 2
    assert "search notes" in result.output
    assert _run("--review", str(tmp_path / "none.json")).exit_code == 2


def test_review_of_signs_that_no_terminal_should_get(tmp_path: Path) -> None:
    file = tmp_path / "notes.json"
    notes = [{"query": "step \ud800 \x1b[2J out", "found": 0}]
    file.write_text(json.dumps({"kind": "kbtools search notes", "notes": notes}))
    text = _run("--review", str(file)).output
    assert "step \ufffd \ufffd[2J out" in text and "\x1b" not in text
    assert _run("--review", str(file), "--json").exit_code == 0


def test_the_cache_answers_as_the_first_time(small: Library, tmp_path: Path) -> None:
    first = open_search(small, tmp_path)
    (place,) = tmp_path.iterdir()
    assert small.revision in place.name
    before = place.stat().st_mtime_ns
    again = open_search(small, tmp_path)
    assert place.stat().st_mtime_ns == before
    assert first.index == again.index
    for text in ("step hangs out", "stpe", "F2"):
        assert first.ask(text) == again.ask(text)


def test_a_damaged_cache_is_written_anew(small: Library, tmp_path: Path) -> None:
    open_search(small, tmp_path)
    (place,) = tmp_path.iterdir()
    for number in range(len(list(place.iterdir()))):
        for share in (0, 2):
            file = sorted(place.iterdir())[number]
            file.write_bytes(file.read_bytes()[: file.stat().st_size * share // 4])
            assert len(open_search(small, tmp_path).ask("F2").symptoms) == 2


def test_a_cache_that_cannot_be_written_does_no_harm(small: Library, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    assert open_search(small, tmp_path / "file" / "below").ask("F2").symptoms


def test_old_indexes_are_removed(small: Library, tmp_path: Path) -> None:
    for number in range(KEPT + 3):
        (tmp_path / f"search-old{number}").mkdir()
    open_search(small, tmp_path)
    assert len(list(tmp_path.iterdir())) == KEPT
