"""How every command ends when something outside ends it: a closed pipe, a full disk, Ctrl-C, a request to stop."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Any, NoReturn

import click

NAME = "kbtools"
STOPPED, PIPE_CLOSED, TERMINATED = 130, 141, 143
"""128 and the number of the signal, as shells say it: SIGINT, SIGPIPE, SIGTERM."""


class Commands(click.Group):
    """A group of commands that ends with an exit code and at most one line, whatever happens to its terminal."""

    def main(self, args: Sequence[str] | None = None, *_: Any, **extra: Any) -> NoReturn:
        """Runs the command that the words name and leaves with its exit code."""
        extra.pop("prog_name", None)
        self._main_shell_completion(extra, NAME, extra.pop("complete_var", None))
        extra.pop("standalone_mode", None)
        with _terminable():
            sys.exit(self._run(list(sys.argv[1:] if args is None else args), extra))

    def _run(self, words: list[str], extra: Mapping[str, Any]) -> int | str | None:
        try:
            code = self._code(words, extra)
            if sys.stdout is not None:
                sys.stdout.flush()
        except BrokenPipeError:
            _to_nowhere()
            return PIPE_CLOSED
        except (KeyboardInterrupt, click.Abort):
            _say("stopped.")
            return STOPPED
        except OSError as error:
            what = f"cannot use {error.filename}" if error.filename else "cannot write the output"
            _say(f"{what}: {error.strerror or error}.")
            _to_nowhere()
            return 2
        return code

    def _code(self, words: list[str], extra: Mapping[str, Any]) -> int | str | None:
        try:
            with self.make_context(NAME, words, **extra) as context:
                self.invoke(context)
        except click.exceptions.Exit as done:
            return done.exit_code
        except click.ClickException as error:
            error.show()
            return error.exit_code
        except SystemExit as leaving:
            return leaving.code
        return 0


@contextmanager
def _terminable() -> Iterator[None]:
    """While it lasts, a request to stop (SIGTERM) unwinds the command, so that it tidies up behind itself."""

    def leave(number: int, frame: FrameType | None) -> None:
        sys.exit(TERMINATED)

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, leave)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _say(text: str) -> None:
    with suppress(OSError):
        click.echo(f"kbtools: {text}", err=True)


def _to_nowhere() -> None:
    """Lets Python close its streams without a further complaint."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError, AttributeError):
            stream.flush()
            continue
        with suppress(OSError, ValueError, AttributeError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
