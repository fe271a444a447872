"""Data flows one way: each module imports only what stands to its left."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "kbtools"

FLOW = [
    ["problem", "yaml_words"],
    ["source"],
    ["model"],
    ["terms"],
    ["misfits"],
    ["entries"],
    ["library"],
    ["schema"],
    ["words", "applies"],
    ["diagnosis", "search"],
    ["owner", "readability"],
    ["cards"],
    ["rules"],
    ["report", "trace", "rehearse", "new"],
    ["trace_words"],
    ["site"],
    ["cli_options", "cli_leaving"],
    ["cli_review"],
    ["cli_trace", "cli_rehearse", "cli_search", "cli_new", "cli_bundle"],
    ["cli"],
    ["__main__"],
]
"""Left to right. What shares a step does not import each other."""

WITHIN_MODEL = [["base"], ["references", "actions", "manual"], ["topics", "equipment"], ["__init__"]]
"""The same for the modules of the content model."""

ORDER = {name: step for step, names in enumerate(FLOW) for name in names}


def _modules() -> dict[Path, str]:
    """File → its first name below kbtools (a module or a package)."""
    return {
        file: file.relative_to(PACKAGE).parts[0].removesuffix(".py")
        for file in sorted(PACKAGE.rglob("*.py"))
        if file.relative_to(PACKAGE) != Path("__init__.py")
    }


def _imports(file: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{file} imports relatively"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


@pytest.mark.parametrize("file", _modules(), ids=lambda file: str(file.relative_to(PACKAGE)))
def test_imports_go_left(file: Path) -> None:
    own = _modules()[file]
    assert own in ORDER, f"say in FLOW where {own} stands"
    for name in _imports(file):
        parts = name.split(".")
        if parts[0] != "kbtools" or len(parts) < 2 or parts[1] in (own, "__version__"):
            continue
        assert ORDER[parts[1]] < ORDER[own], f"{own} imports {parts[1]}"


def test_the_model_is_written_from_left_to_right() -> None:
    order = {name: step for step, names in enumerate(WITHIN_MODEL) for name in names}
    for file in sorted((PACKAGE / "model").glob("*.py")):
        for name in _imports(file):
            parts = name.split(".")
            if parts[:2] == ["kbtools", "model"]:
                assert order[parts[2]] < order[file.stem], f"{file.stem} imports {parts[2]}"


def test_only_the_site_knows_mkdocs() -> None:
    users = {own for file, own in _modules().items() for name in _imports(file) if name.split(".")[0] == "mkdocs"}
    assert users <= {"site"}


def test_every_step_of_the_flow_is_in_the_guide() -> None:
    guide = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert all(name in guide for name in set(_modules().values()))
