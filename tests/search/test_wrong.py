"""What was said to be wrong: where it stands now, what has changed since, and files that nobody should trust."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from kbtools.cli import main
from kbtools.library import Library, open_content
from kbtools.search.wrong import lines_of, placed, remarks_of
from tests.content_case import SMALL, TOPIC, Content


@pytest.fixture(autouse=True)
def _cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_cache_path", lambda name: tmp_path / "cache" / name)


def _note(entry: str, part: str, words: str = "", said: str = "It is on the left.") -> dict[str, object]:
    return {"entry": entry, "part": part, "file": "x", "line": 1, "words": words, "said": said}


def _text_at(folder: Path, file: str, line: int) -> str:
    return (folder / file).read_text(encoding="utf-8").splitlines()[line - 1]


PROBES = "Hold the probes to pins 1 and 2."


@pytest.mark.parametrize(
    ("entry", "part", "words", "holds"),
    [
        ("check/step-supply", "step 2", PROBES, PROBES),
        ("check/step-supply", "outcome low", "1 to under 22 V", "low: {from: 1"),
        ("check/step-supply", "whole", "", "step-supply:"),
        ("cause/fuse-f2-open", "step 2", "Look for a chafed wire or a blocked step.", "Look for a chafed wire"),
        ("cause/actuator-worn", "step 2", "Pull the actuator's plug.", "Pull the actuator's plug."),
        ("precaution/keep-off-the-step", "step 1", "Ask everybody to stay off the step.", "Ask everybody to stay"),
    ],
)
def test_a_note_leads_to_the_line_that_holds_it(small: Library, entry: str, part: str, words: str, holds: str) -> None:
    (wrong,) = placed(small, remarks_of([_note(entry, part, words)]))
    assert wrong.now == "same"
    assert wrong.at is not None and wrong.at.line is not None
    assert holds in _text_at(SMALL, wrong.at.file, wrong.at.line)


def test_the_page_gets_the_same_lines(small: Library) -> None:
    file, lines = lines_of(small, "check", "step-supply")
    assert file == TOPIC
    assert PROBES in _text_at(SMALL, file, lines["step 2"])
    assert _text_at(SMALL, file, lines["whole"]).strip() == "step-supply:"
    assert _text_at(SMALL, file, lines["outcome good"]).strip().startswith("good:")


def test_what_moved_changed_or_went(content: Content) -> None:
    notes = remarks_of(
        [
            _note("check/step-supply", "step 2", PROBES),
            _note("check/step-supply", "step 3", "Let the helper open the door."),
            _note("check/step-supply", "step 9", "Read it twice."),
            _note("check/step-gone", "step 1", "Look."),
        ]
    )
    content.edit(
        TOPIC,
        f"[Set the meter to volts DC., {PROBES}, Let the helper open the door.]",
        f"[{PROBES}, Set the meter to volts DC., Let the helper hold the door.]",
    )
    moved, changed, *gone = placed(open_content(content.folder)[0], notes)
    assert (moved.now, moved.remark.part, moved.words) == ("moved", "step 1", PROBES)
    assert (changed.now, changed.remark.part, changed.words) == ("changed", "step 3", "Let the helper hold the door.")
    assert [(one.now, one.at) for one in gone] == [("gone", None)] * 2


def test_the_same_part_is_listed_once_with_everything_said(small: Library) -> None:
    notes = [_note("check/step-supply", "step 2", PROBES, said) for said in ("Pins 3 and 4.", "Too dark.", "Too dark.")]
    (wrong,) = placed(small, remarks_of(notes))
    assert wrong.said == (("Too dark.", 2), ("Pins 3 and 4.", 1))


@pytest.mark.parametrize(
    "note",
    [
        7,
        None,
        [],
        {},
        _note("check/x", "step 0"),
        _note("check/x", "step -1"),
        _note("check/x", "steps"),
        _note("symptom/x", "whole"),
        _note("check/x", "whole", said="  "),
        _note("check/x", "whole") | {"said": 3},
        _note("check/x", "whole") | {"entry": None},
    ],
)
def test_what_is_no_note_is_passed_over(note: object) -> None:
    assert remarks_of([note]) == []


@pytest.mark.parametrize("data", [None, 7, "text", {"a": 1}])
def test_a_list_that_is_none(data: object) -> None:
    assert remarks_of(data) == []


def test_no_sign_of_a_note_moves_a_terminal(small: Library) -> None:
    (wrong,) = placed(
        small, remarks_of([_note("check/step-supply", "whole", said="a\x1b[2Jb\x9bc\u202ed" + "e" * 9000)])
    )
    ((said, _),) = wrong.said
    assert said.isprintable() and len(said) <= 2000


def _review(tmp_path: Path, wrong: list[object], *options: str) -> str:
    file = tmp_path / "notes.json"
    file.write_text(json.dumps({"kind": "kbtools search notes", "notes": [], "wrong": wrong}), encoding="utf-8")
    result = CliRunner().invoke(main, ["search", "--content", str(SMALL), "--review", str(file), *options])
    assert result.exit_code == 0, result.output
    return result.output


def test_review_begins_with_file_and_line(tmp_path: Path) -> None:
    lines = _review(
        tmp_path, [_note("check/step-supply", "step 2", PROBES), _note("check/step-gone", "step 1", "Look.")]
    ).splitlines()
    assert lines[:2] == ["0 different queries that led to no page.", "2 places said to be wrong:"]
    place, text = lines[2].split("  ", 1)
    file, line, _ = place.rsplit(":", 2)
    assert PROBES in Path(file).read_text(encoding="utf-8").splitlines()[int(line) - 1]
    assert text == "Voltage at the actuator, step 2  (check step-supply)"
    assert lines[3:5] == [f"      it says: {PROBES}", '      1 × "It is on the left."']
    assert lines[5:7] == ["nowhere  step-gone, step 1  (check step-gone)", "      It is in the manual no more."]


def test_review_for_programs(tmp_path: Path) -> None:
    (found,) = json.loads(_review(tmp_path, [_note("check/step-supply", "step 2", PROBES)], "--json"))["wrong"]
    assert (found["file"], found["kind"], found["id"], found["part"]) == (TOPIC, "check", "step-supply", "step 2")
    assert PROBES in _text_at(SMALL, TOPIC, found["line"])
    assert found["said"] == [{"text": "It is on the left.", "times": 1}]
