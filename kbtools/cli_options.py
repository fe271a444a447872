"""What the commands share: options, opening the content, leaving with the right exit code."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any, NoReturn, TypeVar

import click

from kbtools import report, rules
from kbtools.applies import Unit, UnitError, unit_of
from kbtools.library import ContentMissing, Library
from kbtools.problem import Problem, errors

F = TypeVar("F", bound=Callable[..., Any])


def content_option(function: F) -> F:
    """--content DIR, where the content stands."""
    return click.option(
        "--content", "content", default="content", show_default=True, metavar="DIR", help="Folder of the content."
    )(function)


def json_option(function: F) -> F:
    return click.option("--json", "as_json", is_flag=True, help="Print JSON.")(function)


def unit_option(function: F) -> F:
    """--unit UNIT, the type or serial number that the reader has before them."""
    return click.option("--unit", metavar="UNIT", help="Type or serial number: only what applies to it.")(function)


def unit_or_leave(library: Library, text: str | None) -> Unit | None:
    """The unit that was named, if any; leaves with exit 2 when there is none of that name."""
    try:
        return None if text is None else unit_of(library, text)
    except UnitError as error:
        leave(str(error))


def open_or_leave(content: str, *, only_errors: bool = False) -> tuple[Library, list[Problem]]:
    """Opens and validates; leaves with exit 2 when there is no such folder."""
    try:
        return rules.validate(content, only_errors=only_errors)
    except ContentMissing as missing:
        leave(str(missing))


def open_without_errors(content: str) -> Library:
    """The library; with errors in the content, prints them and leaves with exit 1."""
    library, problems = open_or_leave(content, only_errors=True)
    if wrong := errors(problems):
        click.echo(report.as_text(wrong, content), err=True)
        click.echo(f"{report.summary(wrong)}. Mend them first.", err=True)
        sys.exit(1)
    return library


def leave(message: str, code: int = 2) -> NoReturn:
    """One line on the error stream, and out."""
    click.echo(f"kbtools: {message}", err=True)
    sys.exit(code)
