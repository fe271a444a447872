"""What a decision takes in Chromium: 20 causes × 30 checks, one level and three. Run from the repository: python benchmarks/diagnosis_browser.py."""

from __future__ import annotations

import shutil
import statistics
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from playwright.sync_api import sync_playwright

from kbtools.diagnosis.network import network_json
from tests.conftest import CHROMIUM_ARGUMENTS
from tests.diagnosis.generate import problem

SCRIPT = Path(__file__).parents[1] / "site_overrides" / "assets" / "diagnosis.js"
PROBLEMS = 12
TIMES = """([networks, level]) => networks.map(plain => {
  const network = kbDiagnosis.prepare(plain), state = {answers: [], failed: [], level: level};
  kbDiagnosis.next(network, state);
  const start = performance.now();
  for (let i = 0; i < 5; i++) kbDiagnosis.next(network, state);
  return (performance.now() - start) / 5;
})"""


def main() -> None:
    plain = [problem(seed, causes=(20, 20), checks=(30, 30)) for seed in range(PROBLEMS)]
    layered = [
        problem(seed, causes=(20, 20), checks=(30, 30), places=5, levels=(90.0, 180.0)) for seed in range(PROBLEMS)
    ]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=CHROMIUM_ARGUMENTS)
        page = browser.new_page()
        page.add_script_tag(path=str(SCRIPT))
        print(f"milliseconds a decision in Chromium, 20 causes × 30 checks (median of {PROBLEMS} problems)")
        for name, networks, level in [("one level", plain, 0)] + [
            (f"places, level {level + 1} of 3", layered, level) for level in range(3)
        ]:
            taken = page.evaluate(TIMES, [[network_json(network) for network in networks], level])
            print(f"  {name:32} {statistics.median(taken):6.1f}")
        browser.close()


if __name__ == "__main__":
    main()
