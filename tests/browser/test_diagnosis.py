"""The page's arithmetic equals the package's, in a real browser."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from kbtools.diagnosis.network import network_json
from tests.diagnosis import vectors

pytestmark = pytest.mark.browser

SCRIPT = Path(__file__).parents[2] / "site_overrides" / "assets" / "diagnosis.js"

ANSWERS = """cases => cases.map(one => {
  const net = kbDiagnosis.prepare(one.network);
  return one.results.map(({state}) => ({
    posterior: kbDiagnosis.posterior(net, state), repair: kbDiagnosis.repairMinutes(net, state),
    next: kbDiagnosis.next(net, state), why: kbDiagnosis.why(net, state, 0),
  }));
})"""


@pytest.fixture(scope="module")
def page(chromium: Any) -> Any:
    page = chromium.new_page()
    page.add_script_tag(path=str(SCRIPT))
    return page


def test_the_vectors_are_what_python_makes_today() -> None:
    assert json.loads(vectors.FILE.read_text(encoding="utf-8")) == json.loads(json.dumps(vectors.made()))


def test_the_vectors_hold_every_kind_of_action() -> None:
    cases = json.loads(vectors.FILE.read_text(encoding="utf-8"))["cases"]
    assert {r["next"]["kind"] for one in cases for r in one["results"]} == {"check", "remedy", "hand-over", "done"}


def test_the_browser_finds_the_same_numbers(page: Any) -> None:
    cases = json.loads(vectors.FILE.read_text(encoding="utf-8"))["cases"]
    found = page.evaluate(ANSWERS, cases)
    for case, results in zip(cases, found, strict=True):
        for expected, got in zip(case["results"], results, strict=True):
            assert got["posterior"] == pytest.approx(expected["posterior"], abs=1e-9)
            assert got["repair"] == pytest.approx(expected["repair"], abs=1e-9)
            assert (got["next"]["kind"], got["next"]["index"]) == (expected["next"]["kind"], expected["next"]["index"])
            assert got["next"]["minutes"] == pytest.approx(expected["next"]["minutes"], abs=1e-9)
            assert got["next"]["expected_minutes"] == pytest.approx(expected["next"]["expected_minutes"], abs=1e-9)
            for mine, its in zip(expected["why"], got["why"], strict=True):
                assert its["posterior"] == pytest.approx(mine["posterior"], abs=1e-9)
                assert its["probability"] == pytest.approx(mine["probability"], abs=1e-9)
                assert its["cures"] == mine["cures"]


def test_overlapping_remedies_are_refused(page: Any) -> None:
    network = network_json(vectors.networks()[0])
    network["remedies"] = [*network["remedies"], network["remedies"][0]]  # type: ignore[misc]
    with pytest.raises(Exception, match="one remedy that cures it for sure"):
        page.evaluate("network => { kbDiagnosis.prepare(network); }", network)
