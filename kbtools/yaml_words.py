"""What libyaml complains about, in an author's words."""

from __future__ import annotations

import re

import yaml


def plain_words(error: yaml.MarkedYAMLError, text: str, at: tuple[int, int]) -> tuple[str, str]:
    """libyaml's complaint in an author's words, and a way out."""
    said = error.problem or "cannot be read"
    lines = text.splitlines()
    line = lines[at[0] - 1] if at[0] <= len(lines) else ""
    indent = line[: len(line) - len(line.lstrip())]
    if "\t" in indent or line[at[1] - 1 : at[1]] == "\t":
        return "a tab stands where YAML wants spaces", "Indent with two spaces for each level."
    if "did not find expected ',' or" in said or "flow" in (error.context or ""):
        start = error.context_mark
        where = f" at line {start.line + 1}, column {start.column + 1}" if start else ""
        return (
            f"the bracket opened{where} is not closed here",
            "Close it, or quote a text that holds a bracket or a comma.",
        )
    if "mapping values are not allowed" in said:
        return (
            "a colon with a space stands inside a text",
            'Quote the whole text ("…: …"), or mend the indentation of this line.',
        )
    if "found unexpected end of stream" in said:
        return "a quote is opened and never closed", "Close the quote."
    if "could not find expected ':'" in said:
        return "a key without a colon", "Write key: value, and indent a text that goes on over several lines."
    if told := _at_the_start_of_a_text(said, line[: at[1] - 1].rstrip(), line[at[1] - 1 :]):
        return told
    if "did not find expected key" in said or "did not find expected '-' indicator" in said:
        return "the indentation does not fit what stands above", "Align this line with its neighbours."
    return said, "Look at the line above as well: that is often where it begins."


def _at_the_start_of_a_text(said: str, before: str, after: str) -> tuple[str, str] | None:
    """Texts that YAML takes for something else by their first character, or that go on after a closing quote."""
    quote = "Put the whole text in quotes."
    if "cannot start any token" in said or "expected node content" in said:
        return f"a text without quotes cannot begin with {after[:1]}", quote
    if "expected alphabetic or numeric character" in said and before[-1:] in ("&", "*"):
        return f"a text without quotes cannot begin with {before[-1]}", quote
    if "sequence entries are not allowed" in said or "mapping keys are not allowed" in said:
        sign = after[:1]
        return f"a text without quotes cannot begin with {sign} and a space", f"{quote} A list begins on the next line."
    if "expected comment or line break" in said:
        return "something stands after | or > on the same line", "Begin the text on the next line, indented."
    if "did not find expected key" not in said or not after.strip():
        return None
    if before.endswith(("'", '"')):
        mark = before[-1]
        double = "''" if mark == "'" else '\\"'
        return "a text goes on after its closing quote", f"{quote} Write {double} for a quote inside it."
    if re.search(r"[:-]\s+&\S+$", before):
        return "a text without quotes cannot begin with &", quote
    return None
