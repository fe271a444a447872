"""Rehearsing the tiny manual."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner, Result

from kbtools.cli import main
from tests.content_case import SMALL

KEYS = {
    *("symptom", "who", "calls", "solved", "minutes_mean", "minutes_median", "minutes_p90"),
    *("handed_over", "authors_order", "best", "best_is"),
}


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["rehearse", "--content", str(SMALL), *arguments])


def test_json_keeps_the_contract() -> None:
    result = run("--json", "--calls", "4000")
    assert result.exit_code == 0
    rows = json.loads(result.output)
    assert [row["symptom"] for row in rows] == ["step-stays-in", "step-stays-out"]
    for row in rows:
        assert set(row) >= KEYS
        assert row["who"] == "technician"
        assert row["calls"] == 4000
        assert row["best_is"] in ("exact", "best-known")
        assert row["best"] <= row["minutes_expected"] + 1e-9
        assert row["minutes_mean"] == pytest.approx(row["minutes_expected"], rel=0.1)
        assert 0 <= row["handed_over"] <= 1
        assert row["minutes_median"] <= row["minutes_p90"]


def test_the_seed_decides_everything() -> None:
    arguments = ["--json", "--calls", "300", "--mistakes", "5%", "--double", "0,05", "step-stays-in"]
    assert run(*arguments).output == run(*arguments).output
    assert run(*arguments).output != run(*arguments, "--seed", "1").output


def test_a_table_for_people() -> None:
    lines = run("step-stays-out", "--who", "owner", "--calls", "100").output.splitlines()
    assert lines[0].split()[:3] == ["symptom", "mean", "median"]
    assert lines[1].startswith("step-stays-out")
    assert len(lines) == 2


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["step-stay-in"], "Did you mean step-stays-in?"),
        (["--who", "tecnician"], "Did you mean technician?"),
        (["--mistakes", "lots"], "is no share"),
        (["--double", "120%"], "not between"),
        (["--calls", "0"], "0 is not in the range"),
        (["--content", "no/such/folder"], "no content folder"),
    ],
)
def test_wrong_usage_is_one_clear_word_and_exit_2(arguments: list[str], word: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert word in result.output
    assert "Traceback" not in result.output
