"""kbtools bundle: the same bytes twice, read by other tools, and verified file by file."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kbtools.cli import main
from tests.content_case import SMALL, TOPIC, Content
from tests.site.html import Reading, pages_of


def kbtools(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("bundle") / "service.zip"
    result = kbtools("bundle", "--content", SMALL, "--out", file)
    assert result.exit_code == 0, result.output
    assert hashlib.sha256(file.read_bytes()).hexdigest() in result.output
    return file


def test_same_content_same_bytes(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    shutil.copytree(SMALL, tmp_path / "elsewhere")
    for file in (tmp_path / "elsewhere").rglob("*.yml"):
        file.chmod(0o600)
    assert kbtools("bundle", "--content", tmp_path / "elsewhere", "--out", tmp_path / "b.zip").exit_code == 0
    assert (tmp_path / "b.zip").read_bytes() == made.read_bytes()


def test_other_content_other_bytes(made: Path, content: Content, tmp_path: Path) -> None:
    content.edit(TOPIC, "title: Voltage at the actuator", "title: Volts at the actuator")
    assert kbtools("bundle", "--content", content.folder, "--out", tmp_path / "b.zip").exit_code == 0
    assert (tmp_path / "b.zip").read_bytes() != made.read_bytes()


def test_pythons_zipfile_reads_it(made: Path) -> None:
    with zipfile.ZipFile(made) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        assert names[:2] == ["START.html", "SHA256SUMS"]
        assert names[2:] == sorted(names[2:])
        assert {info.date_time for info in archive.infolist()} == {(2026, 1, 31, 0, 0, 0)}
        assert {oct(info.external_attr >> 16) for info in archive.infolist()} == {"0o100644"}


@pytest.fixture
def unpacked(made: Path, tmp_path: Path) -> Path:
    """The bundle as an independent tool unpacks it."""
    tool = shutil.which("unzip") or shutil.which("bsdtar")
    if tool is None:
        pytest.skip("neither unzip nor bsdtar is there")
    command = [tool, "-q", str(made), "-d", str(tmp_path)] if tool.endswith("unzip") else [tool, "-xf", str(made)]
    subprocess.run(command, cwd=tmp_path, check=True)
    return tmp_path


def test_unpacked_by_another_tool_its_checksums_hold_and_every_link_leads_somewhere(unpacked: Path) -> None:
    done = subprocess.run(
        ["sha256sum", "--strict", "--quiet", "-c", "SHA256SUMS"],
        cwd=unpacked,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    (unpacked / "manual" / "card.txt").write_text("changed")
    assert len((unpacked / "SHA256SUMS").read_text().splitlines()) == sum(p.is_file() for p in unpacked.rglob("*")) - 2
    start = Reading((unpacked / "START.html").read_text())
    assert start.inline == []
    assert "manual/index.html" in start.links
    for target in [*start.links, *start.loads]:
        assert (unpacked / target).is_file(), target
    assert len(pages_of(unpacked / "manual")) > 20


def test_verify_says_that_all_is_well(made: Path, unpacked: Path) -> None:
    for what in (made, unpacked):
        result = kbtools("bundle", "--verify", what)
        assert (result.exit_code, "every file is there and unchanged" in result.output) == (0, True), result.output


def rewritten(made: Path, out: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The bundle with other files in it."""
    with zipfile.ZipFile(made) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out


INDEX = "manual/index.html"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda files: files.pop(INDEX), [f"missing: {INDEX}"]),
        (lambda files: files.update({INDEX: b"x"}), [f"changed: {INDEX}"]),
        (lambda files: files.update({"manual/x.js": b"x"}), ["added: manual/x.js"]),
        (lambda files: files.update({"manual/x.js": files.pop(INDEX)}), [f"missing: {INDEX}", "added: manual/x.js"]),
        (lambda files: files.pop("SHA256SUMS"), ["missing: SHA256SUMS"]),
        (lambda files: files.update({"../x": b"x"}), ["unsafe name: '../x'", "added: ../x"]),
        (lambda files: files.update({"/etc/x": b"x"}), ["unsafe name: '/etc/x'", "added: /etc/x"]),
        (lambda files: files.update({"C:\\x": b"x"}), ["unsafe name: 'C:\\\\x'", "added: C:\\x"]),
        (lambda files: files.update({"SHA256SUMS": files["SHA256SUMS"] + b"junk\n"}), ["not a checksum and a name"]),
    ],
)  # fmt: skip
def test_verify_names_what_is_wrong(
    made: Path, tmp_path: Path, change: Callable[[dict[str, bytes]], None], says: list[str]
) -> None:
    result = kbtools("bundle", "--verify", rewritten(made, tmp_path / "b.zip", change))
    assert result.exit_code == 1
    lines = result.output.splitlines()
    assert len(lines) == len(says) + 1
    assert all(wanted in line for wanted, line in zip(says, lines, strict=False)), lines
    assert [p.name for p in tmp_path.iterdir()] == ["b.zip"]


def test_verify_a_link_a_double_and_a_damaged_byte(made: Path, tmp_path: Path) -> None:
    linked = shutil.copy(made, tmp_path / "link.zip")
    with zipfile.ZipFile(linked, "a") as archive:
        info = zipfile.ZipInfo("manual/link")
        info.external_attr = 0o120777 << 16
        archive.writestr(info, "/etc/passwd")
    assert "unsafe, a link: 'manual/link'" in kbtools("bundle", "--verify", linked).output
    double = shutil.copy(made, tmp_path / "double.zip")
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(double, "a") as archive:
        archive.writestr(INDEX, b"other")
    output = kbtools("bundle", "--verify", double).output
    assert f"there twice: {INDEX}" in output and f"changed: {INDEX}" in output
    data = bytearray(made.read_bytes())
    with zipfile.ZipFile(made) as archive:
        at = archive.getinfo("manual/404.html").header_offset + 30 + len("manual/404.html") + 20
    data[at] ^= 0xFF
    (tmp_path / "bad.zip").write_bytes(data)
    result = kbtools("bundle", "--verify", tmp_path / "bad.zip")
    assert (result.exit_code, result.output.splitlines()[0]) == (1, "changed: manual/404.html")


def test_verify_a_file_cut_off_and_one_that_is_not_there(made: Path, tmp_path: Path) -> None:
    (tmp_path / "cut.zip").write_bytes(made.read_bytes()[:-100])
    result = kbtools("bundle", "--verify", tmp_path / "cut.zip")
    assert (result.exit_code, "cut off" in result.output) == (1, True)
    result = kbtools("bundle", "--verify", tmp_path / "none.zip")
    assert (result.exit_code, result.output.count("\n")) == (2, 1)


def test_an_unpacked_folder_is_verified_too(unpacked: Path) -> None:
    (unpacked / INDEX).unlink()
    (unpacked / "manual/404.html").write_text("x")
    (unpacked / "notes.txt").write_text("x")
    result = kbtools("bundle", "--verify", unpacked)
    assert result.exit_code == 1
    assert result.output.splitlines()[:3] == [f"missing: {INDEX}", "changed: manual/404.html", "added: notes.txt"]


def test_a_bundle_that_fails_leaves_the_old_one(made: Path, content: Content, tmp_path: Path) -> None:
    old = shutil.copy(made, tmp_path / "b.zip")
    content.edit(TOPIC, "then: somebody-caught", "then: nobody")
    assert kbtools("bundle", "--content", content.folder, "--out", old).exit_code == 1
    assert Path(old).read_bytes() == made.read_bytes()
    result = kbtools("bundle", "--content", SMALL, "--out", tmp_path / "none" / "b.zip")
    assert (result.exit_code, result.output.count("\n")) == (2, 1)


def test_a_name_that_not_every_system_takes_is_refused(content: Content, tmp_path: Path) -> None:
    content.write("pages/what?.md", "# What\n")
    result = kbtools("bundle", "--content", content.folder, "--out", tmp_path / "b.zip")
    assert (result.exit_code, "what?.html" in result.output) == (2, True)
    assert not (tmp_path / "b.zip").exists()
