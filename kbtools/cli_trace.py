"""kbtools trace: one step at a time in the terminal, or one answer for programs."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import click

from kbtools import trace_words
from kbtools.cli_options import content_option, json_option, leave, open_without_errors, unit_option, unit_or_leave
from kbtools.diagnosis.posterior import answered
from kbtools.trace import (
    CANNOT,
    NOT_SURE,
    Trace,
    TraceError,
    after_failure,
    as_data,
    came_back,
    given,
    outcome_of,
    reading_of,
    start,
    with_answer,
)


@click.command()
@content_option
@json_option
@unit_option
@click.option("--who", default="technician", show_default=True, help="Person who does the checks.")
@click.option(
    "--given",
    "answers",
    multiple=True,
    metavar="CHECK=ANSWER",
    help="What is known: an outcome's id, a reading, ? (not sure) or x (cannot do); remedy:CAUSE=failed. Repeat it.",
)
@click.option("--explain", is_flag=True, help="Show prior, what each answer says of each cause, and what follows.")
@click.argument("symptom")
def trace(
    content: str, as_json: bool, unit: str | None, who: str, answers: tuple[str, ...], explain: bool, symptom: str
) -> None:
    """The next best step for SYMPTOM, and why.

    Asks until it is mended or handed over; with --json it says the next step and ends.
    """
    library = open_without_errors(content)
    try:
        made = given(start(library, symptom, who, unit_or_leave(library, unit)), answers)
    except TraceError as error:
        leave(str(error).replace("\n", " "))
    if as_json:
        click.echo(json.dumps(as_data(made), indent=2, ensure_ascii=False))
        return
    _say(trace_words.opening(made))
    _ask_on(made, explain)


def _ask_on(made: Trace, explain: bool) -> None:
    """Show the next step, take an answer, and so on; `u` goes back to the step before."""
    before: list[Trace] = []
    while True:
        _say(["", *trace_words.likely(made), *(trace_words.explained(made) if explain else []), ""])
        _say(trace_words.next_step(made))
        following = _answered(made, before)
        if following is None:
            return
        made = following


def _answered(made: Trace, before: list[Trace]) -> Trace | None:
    """Read lines until one can be used; None ends the trace."""
    while True:
        try:
            line = _line()
        except KeyboardInterrupt:
            _say(trace_words.put_back(made))
            raise
        over = made.action.kind == "hand-over"
        if line is None or line == "q" or (over and not line):
            _say([] if over else trace_words.put_back(made))
            return None
        if line == "u":
            if before:
                return before.pop()
            _say(["There is nothing to undo."])
            continue
        try:
            following = _after(made, line)
        except TraceError as error:
            _say([str(error)])
            continue
        if following is None:
            _say([_ending(made), *trace_words.put_back(made)])
            return None
        before.append(made)
        if following.state.answers != made.state.answers:
            _say(trace_words.at_once(following))
        return following


def _line() -> str | None:
    try:
        return str(click.prompt(">", prompt_suffix=" ", default="", show_default=False)).strip()
    except (click.Abort, EOFError) as ended:
        click.echo()
        if isinstance(ended.__context__, KeyboardInterrupt):
            raise KeyboardInterrupt from None
        return None


def _after(made: Trace, line: str) -> Trace | None:
    """The trace after one typed line; None when the fault is gone. Raises TraceError."""
    kind, index = made.action.kind, made.action.index
    if kind == "hand-over" or index is None:
        raise TraceError("It is handed over: u undo, q end.")
    if kind == "check":
        return _after_check(made, index, line)
    if line == "1":
        return None
    if line == "2":
        return came_back(made) if kind == "done" else after_failure(made, index)
    if line == CANNOT and kind == "remedy":
        return replace(made, state=replace(made.state, no_remedies=made.state.no_remedies | {index}))
    raise TraceError("Answer 1 or 2, u or q." if kind == "done" else "Answer 1 or 2, x, u or q.")


def _after_check(made: Trace, index: int, line: str) -> Trace:
    check = made.check(index)
    outcomes = list(check.outcomes)
    if line in (NOT_SURE, CANNOT):
        return with_answer(made, check.id, line)
    if not line:
        raise TraceError(f"Answer 1 to {len(outcomes)}, ?, x, u or q.")
    if line.isdecimal() and (1 <= int(line) <= len(outcomes) or check.reading is None):
        if not 1 <= int(line) <= len(outcomes):
            raise TraceError(f"There are {len(outcomes)} answers; {line} is none of them.")
        return replace(made, state=answered(made.state, index, int(line) - 1))
    if check.reading is not None and check.reading.of is not None:
        line = _difference(line, check.reading.unit)
    return replace(made, state=answered(made.state, index, outcomes.index(outcome_of(check, line))))


def _difference(line: str, unit: str) -> str:
    """Two readings become the first minus the second; one is the difference already."""
    parts = [part for part in re.split(r"[\s;]+", line) if part.casefold() != unit.casefold()]
    if len(parts) != 2:
        return line
    return f"{reading_of(parts[0], unit) - reading_of(parts[1], unit):.6g}"


def _ending(made: Trace) -> str:
    if made.action.kind == "done":
        return "Gone. Write down what it was."
    return "Gone and proven. Write down the cause, so that the next call is shorter."


def _say(lines: list[str]) -> None:
    for line in lines:
        click.echo(line)
