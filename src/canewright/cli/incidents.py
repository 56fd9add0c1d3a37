"""The last resort: what nobody foresaw ends in one sentence, an incident file and exit code 70, never a traceback."""

from __future__ import annotations

import datetime as dt
import sys
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path

from canewright import __version__

UNFORESEEN = 70
"""Exit code of an internal fault, as sysexits has it (EX_SOFTWARE)."""
STOPPED = 130
"""Exit code after Ctrl+C, as shells have it."""

_places: list[Path] = []


def write_incidents_to(folder: Path) -> None:
    """From now on incident files go into this folder, while it is there."""
    _places[:] = [folder]


def guarded(run: Callable[[], None]) -> None:
    """Run a command; an exception that nobody foresaw is written down and told in one sentence.

    Raises SystemExit with code 70 then, 130 after Ctrl+C, else as the command does.
    """
    try:
        run()
    except KeyboardInterrupt:
        raise SystemExit(STOPPED) from None
    except Exception as unforeseen:  # noqa: BLE001 - the last resort: whatever it is, a person gets a sentence
        print(_sentence(unforeseen), file=sys.stderr)
        raise SystemExit(UNFORESEEN) from None


def _sentence(unforeseen: Exception) -> str:
    where = _written(unforeseen)
    fault = " ".join(str(unforeseen).split())
    kept = f"what happened is in {where}: send that file"
    if where is None:
        kept = f"no incident file could be written: send '{fault}'"
    return (
        f"canewright stopped at something it does not foresee ({type(unforeseen).__name__}); what was stored before "
        f"stays as it was; {kept} to whoever looks after canewright"
    )


def _written(unforeseen: Exception) -> Path | None:
    """The incident file, in the business folder where there is one, else among temporary files; None if neither."""
    at = dt.datetime.now(tz=dt.UTC)
    told = "".join(traceback.format_exception(unforeseen))
    text = (
        f"canewright {__version__}, Python {sys.version.split()[0]}, {at.isoformat()}\n{' '.join(sys.argv)}\n\n{told}"
    )
    for folder in (*_places, Path(tempfile.gettempdir())):
        path = folder / f"incident-{at:%Y%m%d-%H%M%S-%f}.log"
        try:
            path.write_text(text, encoding="utf-8", errors="backslashreplace")
        except OSError:  # the folder is gone, full or closed to us: the next one
            continue
        return path
    return None
