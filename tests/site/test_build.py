"""kbtools build: validates first, swaps, repairs, fails in one line, and gives the same bytes twice."""

from __future__ import annotations

import hashlib
import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kbtools.cli import main
from kbtools.library import Library, open_content
from kbtools.site import swap
from kbtools.site.build import build
from kbtools.site.edition import SERVICE
from tests.content_case import SMALL, TOPIC, Content

ROOT = Path(__file__).parents[2]


def kbtools(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def digest(folder: Path) -> dict[str, str]:
    return {
        file.relative_to(folder).as_posix(): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def old_site(out: Path) -> dict[str, str]:
    """A manual built earlier, with one page of its own."""
    assert kbtools("build", "--content", SMALL, "--edition", "service", "--out", out).exit_code == 0
    (out / "service" / "old.html").write_text("old")
    return digest(out / "service")


def test_builds_both_editions_and_says_so_in_a_line_each(tmp_path: Path) -> None:
    result = kbtools("build", "--content", SMALL, "--out", tmp_path / "site")
    assert result.exit_code == 0
    assert result.output.count("\n") == result.output.count(" pages in ") == 2
    assert sorted(p.name for p in (tmp_path / "site").iterdir()) == ["owner", "service"]


@pytest.mark.parametrize("edition", ["service", "owner"])
def test_builds_one_edition_and_leaves_the_other_alone(tmp_path: Path, edition: str) -> None:
    result = kbtools("build", "--content", SMALL, "--edition", edition, "--out", tmp_path / "site")
    assert result.exit_code == 0
    assert [p.name for p in (tmp_path / "site").iterdir()] == [edition]


def test_works_in_an_empty_folder_without_mkdocs_yml(tmp_path: Path) -> None:
    shutil.copytree(SMALL, tmp_path / "c")
    shutil.rmtree(tmp_path / "c" / "pages")
    run = subprocess.run(
        [sys.executable, "-m", "kbtools.cli", "build", "--content", "c"],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stderr) == (0, "")
    assert (tmp_path / "site/service/symptoms/step-stays-in.html").is_file()


def test_uses_the_mkdocs_yml_beside_the_content_and_forces_what_keeps_pages_closed(tmp_path: Path) -> None:
    shutil.copytree(SMALL, tmp_path / "content")
    (tmp_path / "mkdocs.yml").write_text(
        "site_name: Mine\nuse_directory_urls: true\ntheme: {name: material, font: {text: Roboto}}\n"
        "plugins: [search, kbtools]\nmarkdown_extensions: [admonition]\n"
    )
    (tmp_path / "content/pages/more.md").write_text("# More\n\n!!! note\n    Boxed.\n")
    assert kbtools("build", "--content", tmp_path / "content", "--out", tmp_path / "o").exit_code == 0
    assert 'class="admonition note"' in (tmp_path / "o/service/more.html").read_text()
    written = digest(tmp_path / "o/service")
    assert not [name for name in written if name.startswith("search/") or "material" in name or "font" in name]


def test_a_broken_link_in_a_hand_written_page_is_said(content: Content, tmp_path: Path) -> None:
    content.write("pages/more.md", "# More\n\n[gone](symptoms/gone.html)\n")
    result = kbtools("build", "--content", content.folder, "--out", tmp_path / "o")
    assert result.exit_code == 0
    assert "symptoms/gone" in result.output


def test_errors_stop_the_build_before_the_old_site_is_touched(content: Content, tmp_path: Path) -> None:
    before = old_site(tmp_path / "o")
    content.edit(TOPIC, "then: somebody-caught", "then: nobody")
    result = kbtools("build", "--content", content.folder, "--out", tmp_path / "o")
    assert result.exit_code == 1
    assert "unknown-reference" in result.output
    assert "Traceback" not in result.output
    assert digest(tmp_path / "o/service") == before


def test_missing_content_and_unwritable_output_are_usage_errors(tmp_path: Path) -> None:
    missing = kbtools("build", "--content", tmp_path / "none", "--out", tmp_path / "o")
    assert (missing.exit_code, missing.output.count("\n")) == (2, 1)
    (tmp_path / "file").write_text("")
    unwritable = kbtools("build", "--content", SMALL, "--out", tmp_path / "file")
    assert (unwritable.exit_code, unwritable.output.count("\n")) == (2, 1)
    assert "cannot write" in unwritable.output


def test_what_is_no_manual_is_never_replaced(tmp_path: Path) -> None:
    (tmp_path / "o/service").mkdir(parents=True)
    (tmp_path / "o/service/precious.txt").write_text("mine")
    result = kbtools("build", "--content", SMALL, "--out", tmp_path / "o")
    assert result.exit_code == 2
    assert "is no manual" in result.output
    assert (tmp_path / "o/service/precious.txt").read_text() == "mine"


def test_a_full_disk_leaves_the_old_site_and_one_line(tmp_path: Path) -> None:
    """The kernel refuses to write a file beyond a size limit, as it does on a full disk."""
    before = old_site(tmp_path / "o")
    run = subprocess.run(
        [sys.executable, "-m", "kbtools.cli", "build", "--content", SMALL, "--edition", "service", "--out", tmp_path / "o"],
        cwd=ROOT, capture_output=True, text=True, check=False, env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (9000, 9000)),
    )  # fmt: skip
    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
    assert "cannot write the site" in run.stderr
    assert digest(tmp_path / "o/service") == before
    assert [p.name for p in (tmp_path / "o").iterdir()] == ["service"]


KILLED = """
import os, pathlib, sys
from kbtools.library import open_content
from kbtools.site.build import build
from kbtools.site.edition import SERVICE
rename, calls = pathlib.Path.rename, []
def counted(self, target):
    calls.append(target)
    if len(calls) == 2:
        os._exit(9)
    return rename(self, target)
pathlib.Path.rename = counted
build(open_content(sys.argv[1])[0], SERVICE, pathlib.Path(sys.argv[2]))
"""


def test_a_build_killed_between_two_renames_is_repaired(tmp_path: Path) -> None:
    before = old_site(tmp_path / "o")
    run = subprocess.run([sys.executable, "-c", KILLED, SMALL, tmp_path / "o"], cwd=ROOT, check=False)
    assert run.returncode == 9
    assert not (tmp_path / "o/service").exists()
    swap.repair(tmp_path / "o/service")
    assert digest(tmp_path / "o/service") == before
    subprocess.run([sys.executable, "-c", KILLED, SMALL, tmp_path / "o"], cwd=ROOT, check=False)
    assert kbtools("build", "--content", SMALL, "--edition", "service", "--out", tmp_path / "o").exit_code == 0
    assert "old.html" not in digest(tmp_path / "o/service")
    assert [p.name for p in (tmp_path / "o").iterdir()] == ["service"]


def test_a_rerun_with_errors_still_brings_the_old_site_back(content: Content, tmp_path: Path) -> None:
    before = old_site(tmp_path / "o")
    (tmp_path / "o/service").rename(tmp_path / "o/.service.old")
    content.edit(TOPIC, "then: somebody-caught", "then: nobody")
    assert kbtools("build", "--content", content.folder, "--out", tmp_path / "o").exit_code == 1
    assert digest(tmp_path / "o/service") == before


def test_same_content_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = build(open_content(SMALL)[0], SERVICE, tmp_path / "a").folder
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    shutil.copytree(SMALL, tmp_path / "elsewhere")
    second = build(open_content(tmp_path / "elsewhere")[0], SERVICE, tmp_path / "b").folder
    assert digest(first) == digest(second)


def test_the_date_is_the_contents_or_source_date_epoch(
    small: Library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    assert "of 2026-01-31" in (build(small, SERVICE, tmp_path / "a").folder / "index.html").read_text()
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    assert "of 1970-01-02" in (build(small, SERVICE, tmp_path / "b").folder / "index.html").read_text()


HOLDING = """
import pathlib, sys
from kbtools.site.lock import locked
with locked(pathlib.Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_the_second_of_two_builds_says_so_and_touches_nothing(tmp_path: Path) -> None:
    before = old_site(tmp_path / "o")
    (tmp_path / "o/.service.new").mkdir()
    (tmp_path / "o/.service.new/half.html").write_text("half")
    words = [sys.executable, "-c", HOLDING, tmp_path / "o/service"]
    with subprocess.Popen(words, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "held\n"
        second = kbtools("build", "--content", SMALL, "--edition", "service", "--out", tmp_path / "o")
        assert (second.exit_code, second.output.count("\n")) == (2, 1)
        assert "somebody else is writing" in second.output
        assert (tmp_path / "o/.service.new/half.html").read_text() == "half"
        (tmp_path / "o/service").rename(tmp_path / "o/.service.old")
        swap.repair(tmp_path / "o/service")
        assert digest(tmp_path / "o/.service.old") == before
        first.kill()
    assert (tmp_path / "o/.service.lock").exists()
    again = kbtools("build", "--content", SMALL, "--edition", "service", "--out", tmp_path / "o")
    assert again.exit_code == 0, again.output
    assert [p.name for p in (tmp_path / "o").iterdir()] == ["service"]


def test_two_builds_at_once_leave_one_whole_site(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "kbtools", "build", "--content", str(SMALL), "--edition", "service"]
    runs = [subprocess.Popen([*words, "--out", str(tmp_path / "o")], cwd=ROOT, stderr=subprocess.PIPE) for _ in "ab"]
    said = [run.communicate()[1] for run in runs]
    assert sorted(run.returncode for run in runs) in ([0, 0], [0, 2]), said
    assert b"Traceback" not in b"".join(said)
    assert [p.name for p in (tmp_path / "o").iterdir()] == ["service"]
    once = kbtools("build", "--content", SMALL, "--edition", "service", "--out", tmp_path / "once")
    assert once.exit_code == 0
    assert digest(tmp_path / "o/service") == digest(tmp_path / "once/service")


@pytest.mark.parametrize(
    ("page", "says"),
    [
        (b"\xff\xfeP\0a\0", "pages/odd.md: it cannot be read as text. Save it in UTF-8."),
        (b"---\neditions: 7\n---\n# Odd\n", "pages/odd.md: its editions are service, owner, not '7'."),
        (b"---\neditions: [ownr]\n---\n# Odd\n", "pages/odd.md: its editions are service, owner, not"),
    ],
)
def test_a_page_that_no_edition_can_have_is_named(content: Content, tmp_path: Path, page: bytes, says: str) -> None:
    content.write("pages/odd.md", page)
    before = old_site(tmp_path / "site")
    result = kbtools("build", "--content", content.folder, "--out", tmp_path / "site")
    assert (result.exit_code, result.output.count("\n")) == (2, 1)
    assert says in result.output
    assert digest(tmp_path / "site/service") == before
