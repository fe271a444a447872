"""kbtools new manual, symptom, cause and check."""

from __future__ import annotations

from pathlib import Path

import click

from kbtools.cli_options import content_option, leave
from kbtools.library import ContentMissing, content_folder
from kbtools.new import NotAdded, new_entry, new_manual


@click.group()
def new() -> None:
    """Start a manual, or an entry: kbtools new manual DIR, kbtools new symptom ID, and so on."""


@new.command()
@click.argument("folder", metavar="DIR")
def manual(folder: str) -> None:
    """A small, complete manual in a new folder, to build at once and to change piece by piece."""
    try:
        files = new_manual(Path(folder))
    except FileExistsError:
        leave(f"{folder} is there already and is not empty; choose a new folder.")
    except OSError as error:
        leave(f"cannot write to {folder}: {error.strerror or error}.")
    click.echo(f"{folder}: a manual that builds. Next: cd {folder} && kbtools build, then change")
    for file in files:
        click.echo(f"  {file}")


def _adds(kind: str, about: str) -> click.Command:
    @click.command(name=kind, help=about)
    @click.argument("ident", metavar="ID")
    @click.option("--topic", metavar="SYSTEM/TOPIC", help="Into which topic; a new one is created.")
    @content_option
    def add(ident: str, topic: str | None, content: str) -> None:
        try:
            added = new_entry(content_folder(content), kind, ident, topic)
        except ContentMissing as missing:
            leave(str(missing))
        except NotAdded as refused:
            leave(f"{str(refused).rstrip('.')}.")
        except OSError as error:
            leave(f"cannot write to {content}: {error.strerror or error}.")
        where = f"{added.file}:{added.line}{', a new file' if added.new_file else ''}"
        click.echo(f"{where}: the {kind} {ident}, in draft. kbtools validate lists what is still to be filled in.")

    return add


for _kind, _about in (
    ("symptom", "A symptom: what somebody sees, hears, smells or reads."),
    ("cause", "A cause: what is behind a symptom, and what mends it."),
    ("check", "A check: a look, a try or a measurement that tells causes apart."),
):
    new.add_command(_adds(_kind, _about))
