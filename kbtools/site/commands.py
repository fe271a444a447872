"""kbtools build and kbtools serve."""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path
from typing import NoReturn

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from kbtools import report, rules
from kbtools.library import ContentMissing, Library, content_folder
from kbtools.problem import errors
from kbtools.site.build import BuildFailed, Built
from kbtools.site.build import build as build_edition
from kbtools.site.edition import EDITIONS, Edition
from kbtools.site.swap import repair

_content = click.option("--content", default="content", show_default=True, metavar="DIR", help="Folder of the content.")


@click.command()
@_content
@click.option(
    "--edition", type=click.Choice([*EDITIONS, "all"]), default="all", show_default=True, help="Which edition to build."
)
@click.option(
    "--out", default="site", show_default=True, metavar="DIR", help="Folder that gets one folder per edition."
)
def build(content: str, edition: str, out: str) -> None:
    """Build the manual as a folder of pages. The old one stays as it was when anything fails."""
    wanted_editions = list(EDITIONS.values()) if edition == "all" else [EDITIONS[edition]]
    try:
        content_folder(content)
    except ContentMissing as missing:
        _leave(str(missing))
    inner, outer = Path(out).resolve(), Path(content).resolve()
    if inner.is_relative_to(outer):
        _leave(f"the output {out or '.'} lies in the content folder {content}. Name a folder beside it with --out DIR.")
    for wanted in wanted_editions:
        with suppress(OSError):
            repair(Path(out, wanted.id))
    library = _valid(content)
    for wanted in wanted_editions:
        try:
            built = _with_progress(library, wanted, Path(out))
        except BuildFailed as failed:
            _leave(str(failed))
        for warning in built.warnings:
            click.echo(f"warning: {warning}", err=True)
        click.echo(f"{built.folder}: {built.pages} pages in {built.seconds:.1f} s, revision {library.revision}.")


def _with_progress(library: Library, edition: Edition, out: Path) -> Built:
    """Builds under a progress bar when somebody is looking, silently otherwise."""
    columns = (TextColumn(edition.title), BarColumn(), MofNCompleteColumn(), TextColumn("pages"))
    console = Console(stderr=True)
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as progress:
        task = progress.add_task("", total=None)
        return build_edition(library, edition, out, lambda total: progress.update(task, advance=1, total=total))


@click.command()
@_content
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen at.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(0, 65535), help="Port to listen at.")
def serve(content: str, host: str, port: int) -> None:
    """Show the manual in a browser and follow every change of the content."""
    from kbtools.site.serve import serve as run

    try:
        run(content_folder(content), host, port)
    except ContentMissing as missing:
        _leave(str(missing))
    except OSError as error:
        _leave(f"cannot serve at {host}:{port}: {error.strerror or error}.")


def _valid(content: str) -> Library:
    """The library; with errors in the content, prints them and leaves with exit 1."""
    try:
        library, problems = rules.validate(content)
    except ContentMissing as missing:
        _leave(str(missing))
    if wrong := errors(problems):
        click.echo(report.as_text(wrong, content), err=True)
        click.echo(f"{report.summary(wrong)}. Nothing was built.", err=True)
        sys.exit(1)
    return library


def _leave(message: str) -> NoReturn:
    click.echo(f"kbtools: {message}", err=True)
    sys.exit(2)
