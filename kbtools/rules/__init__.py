"""What must hold for content to be trusted. Each rule is one small function; its docstring is its published page."""

from __future__ import annotations

from pathlib import Path

from kbtools.library import Library, open_content
from kbtools.problem import Problem, in_order
from kbtools.rules import (  # noqa: F401
    cards,
    causes,
    checks,
    equipment,
    language,
    owners,
    proofs,
    reading,
    references,
    safety,
    symptoms,
    terms,
)
from kbtools.rules.registry import RULES, Rule, run

__all__ = ["RULES", "Rule", "validate"]


def validate(folder: Path | str, *, only_errors: bool = False) -> tuple[Library, list[Problem]]:
    """Opens a content folder and applies every rule: the library, and all problems in order.

    With `only_errors` it leaves out the rules that warn, for commands that only need sound content and no waiting. Raises
    ContentMissing when there is no such folder.
    """
    library, problems = open_content(folder)
    return library, in_order([*problems, *run(library, only_errors=only_errors)])
