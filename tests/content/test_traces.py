"""Every trace of the manual ends well, for every person."""

from __future__ import annotations

from pathlib import Path

import pytest

from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.chart import boxes, compile_chart
from kbtools.diagnosis.posterior import State
from kbtools.library import Library, open_content
from kbtools.model import Remedy
from kbtools.trace import start
from kbtools.trace_words import opening

CONTENT = Path(__file__).parents[2] / "content"
LIBRARY = open_content(CONTENT)[0]


@pytest.fixture(scope="module")
def manual() -> Library:
    return LIBRARY


@pytest.mark.parametrize("symptom", LIBRARY.symptoms)
def test_every_way_ends_in_a_proven_remedy_or_a_hand_over(manual: Library, symptom: str) -> None:
    network = network_of(manual, symptom)
    for level, person in enumerate(manual.people):
        # Coarse: the policy in the likelier branches, the remedies in order in the others.
        for node in boxes(compile_chart(network, State(level=level), prune=0.15).root):
            if node.kind == "check":
                assert network.checks[node.index].level <= level, person
                assert node.branches
            elif node.kind == "remedy":
                assert network.remedies[node.index].level <= level, person
                remedy = manual.remedy_of(network.remedies[node.index].id)
                assert isinstance(remedy, Remedy)
                assert remedy.prove_by.check in manual.checks or remedy.prove_by.expect
                assert [branch.node is not None for branch in node.branches] == [True]
            else:
                assert node.kind == "hand-over"
                assert node.then[-1].kind == "unsolved"


@pytest.mark.parametrize("symptom", LIBRARY.symptoms)
def test_what_makes_safe_is_said_before_anything_else(manual: Library, symptom: str) -> None:
    lines = "\n".join(opening(start(manual, symptom, "technician")))
    at = -1
    for ident in manual.symptoms[symptom].first:
        assert lines.index(f"First: {manual.precautions[ident].title}") > at
        at = lines.index(f"First: {manual.precautions[ident].title}")
    for stop in manual.symptoms[symptom].stop_if:
        assert stop.sign in lines
