"""Rules about words: steps that can be followed one at a time."""

from __future__ import annotations

import re
from collections.abc import Iterator

from kbtools.library import Library
from kbtools.model import Path, Remedy, Step
from kbtools.rules.registry import Finding, rule

LONGEST_STEP = 20
"""Words in a procedural sentence (ASD-STE100, rule 5.1)."""

_SENTENCE_END = re.compile(r"(?<=[.!?])[\"”)]?\s+(?=[A-Z])")
_SECOND = re.compile(r"\band then\b|[,;] then\b", re.IGNORECASE)


@rule("step-too-long", "warning")
def step_too_long(library: Library) -> Iterator[Finding]:
    """A step has at most 20 words.

    Somebody reads it aloud, or remembers it on the way to the equipment (ASD-STE100 sets the same limit).

    Fails:

        steps: [Turn the key off and wait until the lamp has gone out and the pump has stopped and nobody stands near any of the legs.]

    Passes:

        steps: [Turn the key off., Wait until the lamp is out and the pump has stopped., Keep everybody away from the legs.]
    """
    for kind, ident, path, step in _steps(library):
        count = len(step.do.split())
        if count > LONGEST_STEP:
            yield Finding(
                library.at(kind, ident, path),
                f"the step has {count} words, the limit is {LONGEST_STEP}",
                "Split it, or leave out what the reader knows.",
            )


@rule("step-with-two-instructions", "warning")
def step_with_two_instructions(library: Library) -> Iterator[Finding]:
    """A step is one instruction.

    The second one is overlooked, or done when the first has failed. Two sentences, "and then" and ", then" give it away.

    Fails:

        steps: [Turn the key off. Take it out.]

    Passes:

        steps: [Turn the key off., Take it out.]
    """
    for kind, ident, path, step in _steps(library):
        conditional = step.do.lower().startswith(("if ", "when "))
        if _SENTENCE_END.search(step.do) or (_SECOND.search(step.do) and not conditional):
            yield Finding(
                library.at(kind, ident, path),
                "the step holds more than one instruction",
                "Make each instruction a step of its own.",
            )


def _steps(library: Library) -> Iterator[tuple[str, str, Path, Step]]:
    """Every step of checks, remedies and precautions, with where it stands."""
    for check in library.checks.values():
        yield from (("check", check.id, ("steps", i), step) for i, step in enumerate(check.steps))
    for cause in library.causes.values():
        if isinstance(cause.remedy, Remedy):
            yield from (("cause", cause.id, ("remedy", "steps", i), s) for i, s in enumerate(cause.remedy.steps))
    for precaution in library.precautions.values():
        yield from (("precaution", precaution.id, ("steps", i), s) for i, s in enumerate(precaution.steps))
