"""A program that writes to the records, killed in the middle of it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path


def killed_run(program: Path, given: Sequence[object], after: float) -> list[str]:
    """Run a program of these tests, kill it after so many seconds from its start, give what it acknowledged."""
    paths = [*sys.path, str(program.parent.parent)]
    process = subprocess.Popen(
        [sys.executable, str(program), *(str(word) for word in given)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n", process.communicate()[1]
    time.sleep(after)
    process.send_signal(signal.SIGKILL)
    said, trouble = process.communicate(timeout=30)
    assert process.returncode == -signal.SIGKILL, trouble
    return [line for line in said.split("\n")[:-1] if line]  # the last line may be cut
