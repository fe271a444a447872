"""The command line. Exit 0: fine; 1: errors in the content; 2: wrong usage, missing content or unwritable output."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from kbtools import __version__, report, rules, schema
from kbtools.cli_bundle import bundle
from kbtools.cli_leaving import Commands
from kbtools.cli_new import new
from kbtools.cli_options import content_option, json_option, leave, open_or_leave
from kbtools.cli_rehearse import rehearse
from kbtools.cli_search import search
from kbtools.cli_trace import trace
from kbtools.problem import did_you_mean, errors
from kbtools.site import commands


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(__version__, prog_name="kbtools")
def main() -> None:
    """A manual that is searched by symptom, built from an expert's YAML."""


@main.command()
@content_option
@json_option
@click.option(
    "--format", "form", type=click.Choice(report.FORMATS), default="text", show_default=True, help="How to print."
)
def validate(content: str, as_json: bool, form: str) -> None:
    """Check the content: every problem of every file, with a way out."""
    library, problems = open_or_leave(content)
    if as_json or form == "json":
        click.echo(report.as_json(problems))
    elif form == "annotations":
        if problems:
            click.echo(report.as_annotations(problems, content))
    else:
        if problems:
            click.echo(report.as_text(problems, content))
        counts = ", ".join(
            f"{len(library.entries[kind])} {plural}"
            for kind, plural in (("symptom", "symptoms"), ("cause", "causes"), ("check", "checks"))
        )
        click.echo(f"{content}: {counts}: {report.summary(problems)}.")
    sys.exit(1 if errors(problems) else 0)


@main.command()
@click.argument("rule", required=False)
def explain(rule: str | None) -> None:
    """What a rule asks and why, with a failing and a passing snippet. Without RULE: the list of rules."""
    if rule is None:
        width = max(map(len, rules.RULES))
        for one in sorted(rules.RULES.values(), key=lambda r: r.id):
            click.echo(f"{one.id:{width}}  {one.severity:7}  {one.summary}")
        return
    if rule not in rules.RULES:
        leave(f"there is no rule {rule!r}. {did_you_mean(rule, rules.RULES) or 'kbtools explain lists them.'}")
    found = rules.RULES[rule]
    click.echo(f"{found.id} ({found.severity})\n\n{found.text}")


@main.command(name="schema")
@click.argument("file", type=click.Choice(schema.FILES), required=False)
@click.option("--write", "folder", metavar="DIR", help="Write all of them into this folder, as topic.json and so on.")
def schema_command(file: str | None, folder: str | None) -> None:
    """JSON Schema of the content files, for editors."""
    if folder is None:
        click.echo(schema.as_text(file or "topic"), nl=False)
        return
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        for name in [file] if file else schema.FILES:
            Path(folder, f"{name}.json").write_text(schema.as_text(name), encoding="utf-8")
    except OSError as error:
        leave(f"cannot write to {folder}: {error.strerror}.")


main.add_command(commands.build)
main.add_command(commands.serve)
main.add_command(search)
main.add_command(trace)
main.add_command(rehearse)
main.add_command(new)
main.add_command(bundle)


if __name__ == "__main__":
    main()
