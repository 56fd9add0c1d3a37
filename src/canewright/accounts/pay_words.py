"""How runs and statements are called wherever they appear: on pages, papers and at the command line."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from canewright.store import StoredRun


def status_of(run: StoredRun) -> str:
    """The status of a run in words, with who and when, as it stands on every paper."""
    names = " and ".join(a.by for a in run.approvals)
    approved = f"; approved by {names}" if names else ""
    if run.closed:
        when = run.closed.at.astimezone(dt.UTC)
        return f"closed by {run.closed.by} on {when:%Y-%m-%d %H:%M} UTC{approved}; version {run.version}"
    return f"{run.status}, not closed{approved}; version {run.version}"


def file_name(statement: Mapping[str, Any]) -> str:
    """A name for the file of a statement, of letters, digits and dashes."""
    words = f"{statement['season']}-{statement['run']}-{statement['grower']}"
    return "".join(c if c.isascii() and c.isalnum() else "-" for c in words)
