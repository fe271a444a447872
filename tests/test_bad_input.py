"""Bad input at the terminal: one message, the right position, exit 1 or 2, never a traceback."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kbtools.cli import main
from tests.content_case import TOPIC, Content


def _validate(folder: Path, *more: str) -> Result:
    result = CliRunner().invoke(main, ["validate", "--content", str(folder), *more])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


def _problems(folder: Path) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(_validate(folder, "--json").output)["problems"]
    return found


def test_a_file_of_fifty_megabytes_is_refused_at_once(content: Content) -> None:
    with (content.folder / "topics/step/large.yml").open("wb") as file:
        file.write(b"symptoms: {}\n")
        file.truncate(50_000_000)
    began = time.monotonic()
    (found,) = _problems(content.folder)
    assert time.monotonic() - began < 5
    assert (found["file"], found["rule"]) == ("topics/step/large.yml", "file-too-large")
    assert "50,000,000" in str(found["message"])
    assert "1,000,000" in str(found["message"])


def test_text_that_is_not_utf_8(content: Content) -> None:
    content.write("topics/step/more.yml", "causes:\n  a: {title: Tür}\n".encode("latin-1"))
    (found,) = _problems(content.folder)
    assert (found["line"], found["column"], found["rule"]) == (2, 15, "not-utf-8")
    assert "0xFC" in str(found["message"])


def test_a_file_that_cannot_be_read(content: Content) -> None:
    (content.folder / "topics/step/more.yml").symlink_to(content.folder)
    (content.folder / "topics/step/loop.yml").symlink_to("loop.yml")
    assert [p for p in _problems(content.folder) if p["severity"] == "error"] == []
    if os.geteuid() == 0:
        pytest.skip("root reads every file")
    (content.folder / TOPIC).chmod(0)
    (found,) = _problems(content.folder)
    assert found["rule"] == "file-unreadable"


def test_a_file_that_vanishes_while_it_is_read(content: Content, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert {p["rule"] for p in _problems(content.folder)} == {"file-unreadable"}


def test_one_spoiled_file_gives_one_message_not_an_avalanche(content: Content) -> None:
    content.edit(TOPIC, "nature: operation", "nature: [operation")
    found = _problems(content.folder)
    assert [p["rule"] for p in found] == ["yaml-syntax"]


def test_all_problems_of_all_files_come_in_one_run(content: Content) -> None:
    content.edit(TOPIC, "prove_by: step-click", "prove_by: step-clik")
    content.write("topics/step/a.yml", "causes: [\n")
    content.write("manual.yml", "title: 5\n")
    assert {p["file"] for p in _problems(content.folder)} == {TOPIC, "topics/step/a.yml", "manual.yml"}


def test_a_bad_id_and_what_is_wrong_below_it_come_in_one_run(content: Content) -> None:
    content.edit(TOPIC, "  actuator-worn:\n", "  Actuator_Worn:\n")
    content.edit(TOPIC, "title: Actuator worn out", "title: []")
    assert [p["rule"] for p in _problems(content.folder)] == ["id-not-kebab-case", "wrong-value"]


def test_a_section_that_stands_twice_gives_one_message(content: Content) -> None:
    content.edit(TOPIC, "\ncauses:\n", "\ncauses:\n  spare: {title: A}\ncauses:\n")
    assert "duplicate-key" in {p["rule"] for p in _problems(content.folder)}
    assert not any(p["rule"] == "unknown-reference" for p in _problems(content.folder))


def test_a_missing_content_folder() -> None:
    result = _validate(Path("nowhere"))
    assert result.exit_code == 2
    assert (
        result.output
        == "kbtools: there is no content folder nowhere. Name the folder that holds manual.yml with --content DIR.\n"
    )


def test_an_unknown_command_and_option() -> None:
    for words in (["valdate"], ["validate", "--jsn"], ["validate", "--format", "xml"]):
        result = CliRunner().invoke(main, words)
        assert result.exit_code == 2
        assert "Traceback" not in result.output


def test_control_characters_in_ids_do_not_reach_the_terminal(content: Content) -> None:
    content.write("topics/step/more.yml", 'causes:\n  "\\e[31mred": {title: A}\n')
    assert "\x1b" not in _validate(content.folder).output


def test_the_real_command_never_shows_a_traceback(content: Content) -> None:
    content.write("topics/step/more.yml", b"\xff\xfe\x00")
    run = subprocess.run(
        [sys.executable, "-m", "kbtools.cli", "validate", "--content", str(content.folder)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 1
    assert run.stderr == ""
    assert "topics/step/more.yml:1:1: error: byte 0xFF is not UTF-8 text [not-utf-8]" in run.stdout


def test_an_output_folder_inside_the_content_is_refused(content: Content) -> None:
    for out in (content.folder, content.folder / "site"):
        result = CliRunner().invoke(main, ["build", "--content", str(content.folder), "--out", str(out)])
        assert result.exit_code == 2
        assert "lies in the content folder" in result.output
        assert not (content.folder / "site").exists()


def test_a_new_id_of_ten_thousand_characters(content: Content) -> None:
    result = CliRunner().invoke(main, ["new", "symptom", "x" * 10_000, "--content", str(content.folder)])
    assert result.exit_code == 2
    assert "has 10000 characters, the limit is 100" in result.output


@pytest.mark.parametrize(
    "words", [["validate"], ["build"], ["serve"], ["search", "step"], ["rehearse"], ["bundle"], ["new", "check", "a-b"]]
)
def test_a_folder_that_is_no_manual(words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "notes.txt").write_text("x")
    monkeypatch.chdir(tmp_path)
    for content, said in (("", "this folder"), (".", "this folder"), (str(tmp_path), str(tmp_path))):
        result = CliRunner().invoke(main, [*words, "--content", content])
        way_out = "Name the folder that holds manual.yml with --content DIR."
        assert (result.exit_code, result.output) == (2, f"kbtools: there is no manual.yml in {said}. {way_out}\n")
    (tmp_path / "content").mkdir()
    (tmp_path / "content/manual.yml").write_text("title: T\n")
    result = CliRunner().invoke(main, [*words, "--content", "."])
    assert "Did you mean --content content?" in result.output
    assert [p.name for p in tmp_path.iterdir()] in (["notes.txt", "content"], ["content", "notes.txt"])


def test_a_manual_without_its_first_file_is_an_error_of_the_content(content: Content) -> None:
    (content.folder / "manual.yml").unlink()
    assert _validate(content.folder).exit_code == 1


@pytest.mark.parametrize("data", [b"", b"hello", b"\x7fELF"])
def test_verify_of_what_is_no_bundle(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(data)
    result = CliRunner().invoke(main, ["bundle", "--verify", str(tmp_path / "x.zip")])
    assert (result.exit_code, result.output.count("\n")) == (2, 1)
    assert "is no bundle: it is no zip file" in result.output
    folder = CliRunner().invoke(main, ["bundle", "--verify", str(tmp_path)])
    assert folder.exit_code == 2
    assert "is no bundle: it holds no SHA256SUMS" in folder.output


def test_verify_of_another_zip_file(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as archive:
        archive.writestr("holiday.txt", "x")
    result = CliRunner().invoke(main, ["bundle", "--verify", str(tmp_path / "x.zip")])
    assert result.exit_code == 2
    assert "is no bundle: it holds no SHA256SUMS" in result.output


def test_a_slip_in_a_key_that_must_be_there_is_one_error(content: Content) -> None:
    content.edit(TOPIC, "title: Actuator worn out", "«titel: Actuator worn out")
    (found,) = _problems(content.folder)
    assert f"{found['file']}:{found['line']}:{found['column']}" == content.marks[0]
    assert (found["rule"], found["hint"]) == ("unknown-key", "Did you mean title?")


def test_a_key_far_from_the_missing_one_leaves_both_errors(content: Content) -> None:
    content.edit(TOPIC, "title: Actuator worn out", "xyzzy: Actuator worn out")
    assert sorted(str(found["rule"]) for found in _problems(content.folder)) == ["missing-key", "unknown-key"]


@pytest.mark.parametrize(
    ("text", "said", "way_out"),
    [
        ("%x", "cannot begin with %", "quotes"),
        ("@x", "cannot begin with @", "quotes"),
        ("&a *a", "cannot begin with &", "quotes"),
        ("* x", r"cannot begin with \*", "quotes"),
        ("*x", r"the alias \*x has no anchor", "Quote a text"),
        ("- x", "cannot begin with - and a space", "quotes"),
        ("| x", "on the same line", "next line"),
        ("'it's'", "goes on after its closing quote", "''"),
        (",x", "cannot begin with ,", "quotes"),
    ],
)
def test_a_text_that_yaml_takes_for_something_else(text: str, said: str, way_out: str, content: Content) -> None:
    content.write("topics/step/more.yml", f"causes:\n  a:\n    title: {text}\n    nature: fault\n")
    (found,) = _problems(content.folder)
    assert (found["line"], found["rule"]) == (3, "yaml-syntax")
    assert re.search(said, str(found["message"]))
    assert way_out in str(found["hint"])


@pytest.mark.parametrize("name", [b"pages/caf\xe9.md", b"topics/step/two\nlines.yml"])
def test_a_file_name_that_is_no_plain_text(content: Content, name: bytes) -> None:
    Path(os.fsdecode(os.fsencode(content.folder) + b"/" + name)).write_text("# Page\n")
    result = _validate(content.folder)
    assert result.exit_code == 0
    assert "is not plain text" in result.output and "Rename it." in result.output
