"""kbtools new symptom, cause and check: an entry more, and not a character less."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from kbtools.cli import main
from kbtools.new.insert import NoPlace, with_entry
from kbtools.source import parse
from tests.content_case import TOPIC, Content

LINES = ["new-one:", "  status: draft", "  title:"]


def kbtools(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def new(content: Content, kind: str, ident: str, *more: str) -> Result:
    return kbtools("new", kind, ident, "--content", content.folder, *more)


def problems(content: Content) -> list[dict[str, object]]:
    return list(json.loads(kbtools("validate", "--json", "--content", content.folder).output)["problems"])


@pytest.mark.parametrize(("kind", "plural"), [("symptom", "symptoms"), ("cause", "causes"), ("check", "checks")])
def test_an_entry_is_added_and_every_other_line_stays(content: Content, kind: str, plural: str) -> None:
    before = (content.folder / TOPIC).read_text().splitlines()
    result = new(content, kind, "new-one")
    assert result.exit_code == 0, result.output
    after = (content.folder / TOPIC).read_text().splitlines()
    line = int(result.output.split(":")[1])
    assert after[line - 1] == "  new-one:"
    added = len(after) - len(before)
    start = line - 2  # the blank line before the entry
    assert after[:start] + after[start + added :] == before
    document, found = parse("\n".join(after), TOPIC)
    assert found == [] and document is not None
    assert list(document.data[plural])[-1] == "new-one"
    assert document.data[plural]["new-one"]["status"] == "draft"


@pytest.mark.parametrize("kind", ["symptom", "cause", "check"])
def test_validate_lists_what_is_to_be_filled_in_and_nothing_else(content: Content, kind: str) -> None:
    line = int(new(content, kind, "new-one").output.split(":")[1])
    rows = (content.folder / TOPIC).read_text().splitlines()
    found = problems(content)
    assert len(found) >= 5
    for problem in found:
        assert "has no value yet" in str(problem["message"]), problem
        assert int(str(problem["line"])) > line
        shown = rows[int(str(problem["line"])) - 1].rstrip()
        assert shown.endswith(":") or "use: , tow: " in shown
    assert kbtools("build", "--content", content.folder, "--out", content.folder.parent / "o").exit_code == 1


def test_filled_in_a_check_is_valid(content: Content) -> None:
    assert new(content, "check", "look-at-fuse").exit_code == 0
    for key, value in {
        "title": "Look at fuse F2", "who": "technician", "minutes": "2", "place": "step-well", "steps": "[Look at F2.]",
    }.items():  # fmt: skip
        text = (content.folder / TOPIC).read_text()
        head, tail = text[: text.index("look-at-fuse:")], text[text.index("look-at-fuse:") :]
        content.write(TOPIC, head + tail.replace(f"    {key}:\n", f"    {key}: {value}\n", 1))
    content.edit(TOPIC, "label:\n        normal", "label: Whole\n        normal")
    content.edit(TOPIC, "label:\n        #", "label: Blown\n        #")
    content.edit(TOPIC, "seen_with: {}", "seen_with: {fuse-f2-open: always}")
    assert [problem for problem in problems(content) if problem["severity"] == "error"] == []


def test_comments_name_the_ids_that_there_are_in_the_files_order(content: Content) -> None:
    new(content, "check", "new-one")
    text = (content.folder / TOPIC).read_text()
    assert "There are: owner, technician, specialist." in text
    assert "There are: outside, step-well." in text


def test_a_new_topic_has_its_schema(content: Content) -> None:
    result = new(content, "cause", "new-one", "--topic", "step/noise")
    assert result.exit_code == 0
    assert "a new file" in result.output
    text = (content.folder / "topics/step/noise.yml").read_text()
    assert text.startswith("# yaml-language-server: $schema=../../schema/topic.json\n\ncauses:\n  new-one:\n")


def test_the_topic_that_names_the_id_already_gets_the_entry(content: Content) -> None:
    content.write("topics/step/noise.yml", "symptoms:\n  squeaks: {title: It squeaks, causes: [dry-hinge]}\n")
    assert "say into which topic" in new(content, "cause", "another").output
    assert new(content, "cause", "dry-hinge").exit_code == 0
    assert "  dry-hinge:\n" in (content.folder / "topics/step/noise.yml").read_text()


@pytest.mark.parametrize(
    ("kind", "ident", "more", "said"),
    [
        ("cause", "fuse-f2-open", (), "is there already: "),
        ("cause", "Fuse_F2", (), "write fuse-f2"),
        ("cause", "§", (), "small letters and digits"),
        ("cause", "unlisted", (), "reserved"),
        ("cause", "a", ("--topic", "stepp/step"), "Did you mean step?"),
        ("cause", "a", ("--topic", "../../step"), "is not SYSTEM/NAME"),
        ("cause", "a", ("--topic", "step"), "is not SYSTEM/NAME"),
    ],
)
def test_what_cannot_be_added_is_said_in_one_line(
    content: Content, kind: str, ident: str, more: tuple[str, ...], said: str
) -> None:
    before = {p: p.read_bytes() for p in content.folder.rglob("*") if p.is_file()}
    result = new(content, kind, ident, *more)
    assert (result.exit_code, result.output.count("\n")) == (2, 1)
    assert said in result.output
    assert {p: p.read_bytes() for p in content.folder.rglob("*") if p.is_file()} == before


def test_the_same_id_in_another_kind_is_no_hindrance(content: Content) -> None:
    assert new(content, "check", "fuse-f2-open").exit_code == 0


def test_no_content_folder(tmp_path: Path) -> None:
    result = kbtools("new", "cause", "a", "--content", tmp_path / "none")
    assert (result.exit_code, result.output.count("\n")) == (2, 1)


ENTRY = "  new-one:\n    status: draft\n    title:\n"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", f"causes:\n{ENTRY}"),
        ("# only a comment\n", f"# only a comment\n\ncauses:\n{ENTRY}"),
        ("causes:\n", f"causes:\n{ENTRY}"),
        ("causes:\n  a: {b: 1}", f"causes:\n  a: {{b: 1}}\n\n{ENTRY}"),
        ("causes:\n  a: {b: 1}\n...\n", f"causes:\n  a: {{b: 1}}\n\n{ENTRY}...\n"),
        ("causes:\n    a: 1 # why\n", "causes:\n    a: 1 # why\n\n    new-one:\n      status: draft\n      title:\n"),
        ("causes:\n  a: 1\n\n# Checks.\nchecks:\n  b: 2\n", f"causes:\n  a: 1\n\n{ENTRY}\n# Checks.\nchecks:\n  b: 2\n"),
        ("causes:\n  a: |+\n    text\n\n\nchecks:\n  b: 2\n", f"causes:\n  a: |+\n    text\n\n\n\n{ENTRY}checks:\n  b: 2\n"),
        ("checks:\n  b: 2\n", f"checks:\n  b: 2\n\ncauses:\n{ENTRY}"),
    ],
)  # fmt: skip
def test_where_the_entry_goes(before: str, after: str) -> None:
    if "|+" in before:
        with pytest.raises(NoPlace):  # one blank line more would change the text of a
            with_entry(before, "t.yml", "causes", LINES)
        return
    found, line = with_entry(before, "t.yml", "causes", LINES)
    assert found == after
    assert found.splitlines()[line - 1].strip() == "new-one:"


def test_line_ends_stay_as_they_are() -> None:
    found, _ = with_entry("causes:\r\n  a: 1\r\n", "t.yml", "causes", LINES)
    assert found == "causes:\r\n  a: 1\r\n\r\n  new-one:\r\n    status: draft\r\n    title:\r\n"


@pytest.mark.parametrize("text", ["causes: {a: {b: 1}}\n", "causes: [\n", "- a\n", "causes: text\n", "a: 1\na: 2\n"])
def test_what_has_no_place_is_refused(text: str) -> None:
    with pytest.raises(NoPlace):
        with_entry(text, "t.yml", "causes", LINES)


_WORD = st.from_regex(r"[a-z]{1,6}", fullmatch=True)
_NOISE = st.sampled_from(["", "\n", "# said\n", "\n# said\n\n"])


@given(
    st.dictionaries(
        st.sampled_from(["symptoms", "causes", "checks"]), st.lists(_WORD, min_size=1, unique=True, max_size=3)
    ),
    st.lists(_NOISE, min_size=20, max_size=20),
    st.integers(1, 5),
)
def test_any_file_of_entries_keeps_its_lines(sections: dict[str, list[str]], noise: list[str], indent: int) -> None:
    pieces, rest = [], iter(noise)
    for section, idents in sections.items():
        pieces += [next(rest), f"{section}:\n"]
        for ident in idents:
            pieces += [next(rest), f"{' ' * indent}x{ident}:\n{' ' * (indent + 2)}title: T # kept\n"]
    text = "".join(pieces)
    found, line = with_entry(text, "t.yml", "causes", LINES)
    rows = found.splitlines()
    assert rows[line - 1].strip() == "new-one:"
    remaining = iter(rows)
    assert all(row in remaining for row in text.splitlines())  # all of them, in their order
    document, problems = parse(found, "t.yml")
    assert problems == [] and document is not None
    assert {key: [i for i in value if i != "new-one"] for key, value in document.data.items()} == {
        "causes": [],
        **{key: ["x" + ident for ident in idents] for key, idents in sections.items()},
    }
