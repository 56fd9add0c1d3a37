"""The command line: how a person closes a day, asks a figure why, and starts the pages."""

from __future__ import annotations

import os

# The matrices of a plant are small or sparse, so threads of the linear algebra library only cost time. The library
# reads this when numpy is first imported: it is set here, before anything that imports numpy.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__all__ = ["main"]


def main() -> None:
    """Run the command line: exit code 0 done, 1 refused, 2 wrong usage, 70 for what nobody foresaw."""
    from canewright.cli.incidents import guarded

    guarded(_commands)


def _commands() -> None:
    from canewright.cli.commands import app

    app()
