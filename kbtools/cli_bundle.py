"""kbtools bundle."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from kbtools.cli_options import content_option, leave, open_without_errors
from kbtools.site.build import BuildFailed
from kbtools.site.bundle import NoBundle, digest_of
from kbtools.site.bundle import bundle as make
from kbtools.site.bundle import verify as verified
from kbtools.site.edition import EDITIONS


@click.command()
@content_option
@click.option(
    "--edition", type=click.Choice(list(EDITIONS)), default="service", show_default=True, help="Which edition to pack."
)
@click.option("--out", metavar="FILE", help="The zip file to write.  [default: EDITION-REVISION.zip]")
@click.option(
    "--verify", metavar="FILE", help="Compare a bundle, or the folder it was unpacked into, with its checksums."
)
def bundle(content: str, edition: str, out: str | None, verify: str | None) -> None:
    """One edition as one zip file, to carry and to send: start page, manual and checksums."""
    if verify is not None:
        _verify(Path(verify))
        return
    library = open_without_errors(content)
    file = Path(out or f"{edition}-{library.revision}.zip")
    try:
        made = make(library, EDITIONS[edition], file)
    except BuildFailed as failed:
        leave(f"{failed}.")
    click.echo(f"{file}: {made.files} files, {made.size / 1e6:.1f} MB, revision {library.revision}.")
    click.echo(f"SHA-256 {made.digest}")


def _verify(file: Path) -> None:
    try:
        wrong = verified(file)
        digest = "" if file.is_dir() else digest_of(file)
    except NoBundle as other:
        leave(
            f"{file} is no bundle: {other}. Name a file that kbtools bundle wrote, or the folder it was unpacked into."
        )
    except OSError as error:
        leave(f"cannot read {file}: {error.strerror or error}.")
    for line in wrong:
        click.echo(line)
    if wrong:
        click.echo(f"{file}: {len(wrong)} thing{'s' if len(wrong) > 1 else ''} wrong. Ask for a new one.")
        sys.exit(1)
    click.echo(f"{file}: every file is there and unchanged.")
    if digest:
        click.echo(f"SHA-256 {digest}")
