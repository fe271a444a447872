"""kbtools rehearse: what the traces cost in minutes."""

from __future__ import annotations

import json
from dataclasses import asdict

import click

from kbtools.cli_options import content_option, json_option, leave, open_without_errors
from kbtools.problem import did_you_mean
from kbtools.rehearse import as_text, rehearsed


def _share(_: click.Context, option: click.Parameter, text: str) -> float:
    """A share such as 5% or 0.05."""
    plain = text.strip().replace(",", ".")
    try:
        share = float(plain.removesuffix("%")) / (100 if plain.endswith("%") else 1)
    except ValueError:
        raise click.BadParameter(f"{text!r} is no share; write 5% or 0.05.", param=option) from None
    if not 0 <= share <= 1:
        raise click.BadParameter(f"{text!r} is not between 0% and 100%.", param=option)
    return share


@click.command()
@content_option
@json_option
@click.option("--who", default="technician", show_default=True, help="Person who does the checks.")
@click.option(
    "--calls", type=click.IntRange(1, 1_000_000), default=2000, show_default=True, help="Calls for each symptom."
)
@click.option("--seed", type=int, default=0, show_default=True, help="Another seed makes other calls.")
@click.option("--mistakes", callback=_share, default="0%", show_default=True, help="Share of answers that are wrong.")
@click.option("--double", callback=_share, default="0%", show_default=True, help="Share of calls with a second fault.")
@click.argument("symptoms", nargs=-1, metavar="[SYMPTOM]...")
def rehearse(
    content: str,
    as_json: bool,
    who: str,
    calls: int,
    seed: int,
    mistakes: float,
    double: float,
    symptoms: tuple[str, ...],
) -> None:
    """Rehearse the traces: simulated calls, the exact expectation, the author's order and the optimum.

    Without SYMPTOM all of them.
    """
    library = open_without_errors(content)
    if who not in library.people:
        near = did_you_mean(who, library.people) or f"There is: {', '.join(library.people)}."
        leave(f"there is nobody called {who!r}. {near}")
    for symptom in symptoms:
        if symptom not in library.symptoms:
            leave(f"there is no symptom {symptom!r}. {did_you_mean(symptom, library.symptoms)}".rstrip())
    rows = [rehearsed(library, symptom, who, calls, seed, mistakes, double) for symptom in symptoms or library.symptoms]
    click.echo(json.dumps([asdict(row) for row in rows], indent=2) if as_json else as_text(rows))
