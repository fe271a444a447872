"""kbtools search: callers' words to symptoms, in the terminal."""

from __future__ import annotations

import json

import click

from kbtools.applies import Unit, applies, unit_words
from kbtools.cli_options import content_option, json_option, leave, open_without_errors, unit_option, unit_or_leave
from kbtools.cli_review import review
from kbtools.library import Library
from kbtools.model import Reviewed
from kbtools.search.cache import open_search
from kbtools.search.constants import OTHERS, RESULTS, UNIT
from kbtools.search.documents import Document
from kbtools.search.engine import Hit, Results, Search, Why, marks


@click.command()
@content_option
@json_option
@unit_option
@click.option("--explain", is_flag=True, help="Say what each word adds to the score.")
@click.option(
    "--review",
    "notes",
    metavar="FILE",
    help="List saved notes: searches that led nowhere, and what was said to be wrong.",
)
@click.argument("words", nargs=-1)
def search(
    content: str, as_json: bool, unit: str | None, explain: bool, notes: str | None, words: tuple[str, ...]
) -> None:
    """Find the symptom for a caller's words.

    Put -- before WORDS when they begin with a dash. Without a match nothing is listed, and that is no error.
    """
    if notes is None and not words:
        leave("say what to search for: kbtools search -- WORDS.")
    if notes is not None and words:
        leave("--review takes a file and no WORDS.")
    library = open_without_errors(content)
    chosen = unit_or_leave(library, unit)
    made = open_search(library)
    if notes is not None:
        review(library, made, notes, as_json)
        return
    hidden: set[tuple[str, str]] = set()
    found = made.ask(" ".join(words), wanted=lambda document: _about(library, document, chosen, hidden))
    if as_json:
        click.echo(_as_json(found, explain))
        return
    click.echo("\n".join(_as_text(made, found, explain)))
    if chosen and hidden:
        said = "1 entry for other units is" if len(hidden) == 1 else f"{len(hidden)} entries for other units are"
        click.echo(f"Unit {unit_words(library, chosen)}: {said} left out.")


def _about(library: Library, document: Document, unit: Unit | None, hidden: set[tuple[str, str]]) -> bool:
    """Whether an entry is about the unit; what is not is added to `hidden`."""
    entry = library.entries[document.kind].get(document.id)
    if not isinstance(entry, Reviewed) or applies(entry.applies_to, unit):
        return True
    hidden.add((document.kind, document.id))
    return False


def _as_json(found: Results, explain: bool) -> str:
    def entry(hit: Hit, kind: bool) -> dict[str, object]:
        plain: dict[str, object] = {"kind": hit.document.kind} if kind else {}
        plain |= {"id": hit.document.id, "title": hit.document.title, "score": hit.score}
        return plain | ({"why": [_why(why) for why in hit.why]} if explain else {})

    data = {
        "results": [entry(hit, False) for hit in found.symptoms[:RESULTS]],
        "others": [entry(hit, True) for hit in found.others[:OTHERS]],
    }
    return json.dumps(data, indent=2, ensure_ascii=False)


def _as_text(made: Search, found: Results, explain: bool) -> list[str]:
    lines = [f"Read as: {word} → {surface}" for word, surface in found.query.corrected]
    if not found.symptoms and not found.others:
        systems = dict.fromkeys(d.system for d in made.index.symptoms.documents)
        return [
            *lines,
            "Nothing found. Try fewer or other words: what is seen or heard, and where.",
            f"Systems: {', '.join(systems)}",
        ]
    if not found.about_it:
        nothing = f"Nothing in this manual is about that. It does not know: {', '.join(found.query.unknown)}."
        lines = [nothing, *lines, "Nearest, perhaps not it:"]
    for number, hit in enumerate(found.symptoms[:RESULTS], 1):
        lines.append(f"{number:2}. {click.style(hit.document.title, bold=True)}  ({hit.document.id})")
        lines.append(f"    {_marked(made, found, hit.phrase)}")
        if reasons := _reasons(hit):
            lines.append(f"    {reasons}")
        lines += _factors(hit) if explain else []
    for hit in found.others[:OTHERS]:
        outcome = f": {hit.outcome}" if hit.outcome else ""
        lines.append(
            f"    {hit.document.kind} {click.style(hit.document.title, bold=True)}{outcome}  ({hit.document.id})"
        )
        lines += _factors(hit) if explain else []
    return lines


def _marked(made: Search, found: Results, text: str) -> str:
    """The phrase with its matched words between asterisks."""
    for start, end in reversed(marks(made.index, found.query, text)):
        text = f"{text[:start]}*{text[start:end]}*{text[end:]}"
    return f"“{text}”"


def _reasons(hit: Hit) -> str:
    """exact: …; corrected: … from …; concept: …, each word once."""
    groups: dict[str, list[str]] = {}
    for why in hit.why:
        groups.setdefault(why.how, []).append(_reason(why))
    order = [how for how in ("exact", "corrected", "unfinished", "concept") if how in groups]
    return "; ".join(f"{how}: {', '.join(dict.fromkeys(groups[how]))}" for how in order)


def _reason(why: Why) -> str:
    if why.how == "corrected":
        return f"{why.term} from {why.word}"
    return f"{why.term} ({why.word})" if why.how == "concept" else why.word


def _factors(hit: Hit) -> list[str]:
    added = " + ".join(f"{why.points} {why.term}" for why in hit.why)
    factors = [f"× {hit.part_factor}/{UNIT} things named", f"× {hit.sense_factor}/{UNIT} sense"]
    return [f"    {hit.score} = ({added}) {' '.join(factors)}"]


def _why(why: Why) -> dict[str, object]:
    return {"term": why.term, "how": why.how, "word": why.word, "points": why.points}
