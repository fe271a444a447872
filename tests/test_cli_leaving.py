"""How commands end: by a closed pipe, a full disk, Ctrl-C and a request to stop, in the real process."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.content_case import SMALL

KBTOOLS = [sys.executable, "-m", "kbtools"]


@pytest.fixture(autouse=True)
def _heeds_ctrl_c() -> Iterator[None]:
    """Tests that run in a shell's background ignore SIGINT, and so would every program that they start."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


CONTENT = ["--content", str(SMALL)]
COMMANDS = {
    "validate": ["validate", *CONTENT, "--json"],
    "explain": ["explain"],
    "schema": ["schema"],
    "search": ["search", *CONTENT, "step"],
    "trace": ["trace", *CONTENT, "step-stays-in", "--json"],
    "rehearse": ["rehearse", *CONTENT, "--calls", "10"],
    "help": ["--help"],
}
"""Commands that print, by their names."""


@pytest.mark.parametrize("command", COMMANDS)
def test_a_closed_pipe_is_no_trouble(command: str) -> None:
    """141 is 128 and the number of SIGPIPE, as a shell reports a program that the signal ended."""
    run = subprocess.Popen([*KBTOOLS, *COMMANDS[command]], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert run.stdout is not None
    run.stdout.close()
    assert run.stderr is not None
    assert run.stderr.read() == b""
    assert run.wait() == 141
    run.stderr.close()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("command", COMMANDS)
def test_a_full_disk_is_one_line(command: str) -> None:
    with Path("/dev/full").open("w") as full:
        run = subprocess.run(
            [*KBTOOLS, *COMMANDS[command]], stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert run.returncode == 2
    assert run.stderr == "kbtools: cannot write the output: No space left on device.\n"


STOPPED_BY = """
import os, signal, sys
import kbtools.library, kbtools.rules, kbtools.site.build
def stop(*_, **__):
    os.kill(os.getpid(), signal.{name})
    raise SystemExit("the signal did nothing")
{target} = stop
from kbtools.__main__ import main
sys.argv = ["kbtools", *sys.argv[1:]]
main()
"""


@pytest.mark.parametrize(("name", "code", "said"), [("SIGINT", 130, "kbtools: stopped.\n"), ("SIGTERM", 143, "")])
@pytest.mark.parametrize("command", ["validate", "search", "trace", "rehearse", "build", "bundle"])
def test_ctrl_c_is_one_line_and_130(command: str, name: str, code: int, said: str, tmp_path: Path) -> None:
    words = COMMANDS.get(command, [command, *CONTENT, "--out", str(tmp_path / "out")])
    script = STOPPED_BY.format(name=name, target="kbtools.rules.run")
    run = subprocess.run([sys.executable, "-c", script, *words], capture_output=True, text=True, check=False)
    assert (run.returncode, run.stdout, run.stderr) == (code, "", said)


@pytest.mark.parametrize(("name", "code"), [("SIGINT", 130), ("SIGTERM", 143)])
@pytest.mark.parametrize("command", ["build", "bundle"])
def test_an_interrupted_build_leaves_the_old_site_and_no_litter(
    command: str, name: str, code: int, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    words = [command, *CONTENT, "--edition", "service", "--out", str(out)]
    assert subprocess.run([*KBTOOLS, *words], capture_output=True, check=False).returncode == 0
    before = {file: file.stat().st_mtime_ns for file in tmp_path.rglob("*")}
    target = "kbtools.site.build.swap" if command == "build" else "zipfile.ZipFile.close"
    script = STOPPED_BY.replace("import os,", "import zipfile, os,").format(name=name, target=target)
    run = subprocess.run([sys.executable, "-c", script, *words], capture_output=True, text=True, check=False)
    assert run.returncode == code, run.stderr
    after = {file: file.stat().st_mtime_ns for file in tmp_path.rglob("*")}
    if command == "build":  # the folder has held the new site for a while
        del before[out], after[out]
    assert after == before


def test_ctrl_c_in_a_trace_still_says_what_is_to_be_put_back() -> None:
    run = subprocess.Popen(
        [*KBTOOLS, "trace", *CONTENT, "step-stays-in"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert run.stdout is not None
    assert run.stdout.readline()
    run.send_signal(signal.SIGINT)
    _, said = run.communicate(timeout=30)
    assert (run.returncode, said.strip()) == (130, "kbtools: stopped.")
