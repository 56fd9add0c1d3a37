"""The command line: how a person closes a day, asks a figure why, and starts the pages."""

from canewright.cli.commands import main

__all__ = ["main"]
