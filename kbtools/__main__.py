"""The way in: the command `kbtools`, and `python -m kbtools`."""

from __future__ import annotations

import sys


def main() -> None:
    """Runs the command line; Ctrl-C is one line even while Python still loads it."""
    try:
        from kbtools.cli import main as commands
    except KeyboardInterrupt:
        print("kbtools: stopped.", file=sys.stderr)
        sys.exit(130)
    commands()


if __name__ == "__main__":
    main()
