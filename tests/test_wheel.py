"""The wheel works in an empty folder, with nothing of this checkout in reach."""

from __future__ import annotations

import os
import shutil
import site
import subprocess
import sys
import venv
from pathlib import Path

import pytest

from tests.content_case import SMALL

ROOT = Path(__file__).parents[1]
SOURCES = ("kbtools", "site_overrides", "tests/small", "pyproject.toml", "README.md", "LICENSE")


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The interpreter of a fresh environment with the built wheel; dependencies come from the running one."""
    folder = tmp_path_factory.mktemp("wheel")
    (folder / "source").mkdir()
    for name in SOURCES:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        (folder / "source" / name).parent.mkdir(exist_ok=True)
        copy(ROOT / name, folder / "source" / name)
    _run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(folder / "source")],
        folder,
    )
    shutil.rmtree(folder / "source")
    venv.create(folder / "env", with_pip=False)
    python = folder / "env" / "bin" / "python"
    (wheel,) = folder.glob("kbtools-*.whl")
    target = next((folder / "env" / "lib").glob("python*/site-packages"))
    _run(
        [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--no-index", "--target", str(target), str(wheel)],
        folder,
    )
    (target / "dependencies.pth").write_text("\n".join(site.getsitepackages()))
    return python


def _run(command: list[str], folder: Path) -> str:
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "PIP_"))}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_validate_and_build_in_an_empty_folder(python: Path, tmp_path: Path) -> None:
    shutil.copytree(SMALL, tmp_path / "content")
    where = _run([str(python), "-c", "import kbtools; print(kbtools.__file__)"], tmp_path)
    assert str(python.parents[1]) in where
    assert "no errors" in _run([str(python), "-m", "kbtools.cli", "validate"], tmp_path)
    _run([str(python), "-m", "kbtools.cli", "build"], tmp_path)
    page = tmp_path / "site" / "service" / "symptoms" / "step-stays-in.html"
    assert "The step will not come out" in page.read_text(encoding="utf-8")
    assert list((tmp_path / "site" / "service" / "assets").glob("*.css"))


def test_a_manual_of_ones_own_in_an_empty_folder(python: Path, tmp_path: Path) -> None:
    kbtools = [str(python), "-m", "kbtools.cli"]
    _run([*kbtools, "new", "manual", "mine"], tmp_path)
    _run([*kbtools, "build", "--edition", "service"], tmp_path / "mine")
    assert "Our manual" in (tmp_path / "mine/site/service/index.html").read_text(encoding="utf-8")
    assert ": the cause plug-loose" in _run([*kbtools, "new", "cause", "plug-loose"], tmp_path / "mine")
