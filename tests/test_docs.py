"""The documentation names what there is: commands, rules' recipe, files."""

from __future__ import annotations

import re
from pathlib import Path

from kbtools.cli import main
from kbtools.source import parse

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_command_is_in_the_readme_and_none_besides() -> None:
    named = set(re.findall(r"^\| `kbtools (\w+)", README, re.MULTILINE))
    assert named == set(main.commands)


def test_every_command_says_what_it_does() -> None:
    for command in main.commands.values():
        assert command.help
        options = [parameter for parameter in command.params if parameter.param_type_name == "option"]
        assert all(getattr(option, "help", None) for option in options)


def test_the_readmes_entry_is_the_one_in_the_tiny_manual() -> None:
    block = re.search(r"```yaml\n(.*?)```", README, re.DOTALL)
    assert block is not None
    shown, problems = parse(block.group(1), "README.md")
    real, _ = parse((ROOT / "tests/small/topics/step/step.yml").read_text(encoding="utf-8"), "step.yml")
    assert problems == []
    assert shown is not None
    assert real is not None
    entry = shown.data["checks"]["tractor-plugged-in"]
    whole = real.data["checks"]["tractor-plugged-in"]
    del whole["outcomes"]["ignition-on"]["means"]
    assert entry == whole
    assert len(block.group(1).splitlines()) <= 12


def test_links_of_the_guides_lead_somewhere() -> None:
    for name in ("README.md", "DEVELOPERS.md"):
        for target in re.findall(r"\]\(([^)#:]+)\)", (ROOT / name).read_text(encoding="utf-8")):
            assert (ROOT / target).exists(), f"{name}: {target}"
