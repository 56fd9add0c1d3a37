"""Write NOTICE.md: every locked dependency with its version and licence, as its own metadata states them.

``notices.py`` rewrites the file from the installed libraries of requirements-dev.lock; ``notices.py --check`` only
says whether it is up to date. A test does the same.
"""

from __future__ import annotations

import importlib.metadata
import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+)", re.MULTILINE)
NAMED_ELSEWHERE = {
    # Metadata that carries the licence's whole text or leaves it to a classifier too general to be of use.
    "casadi": "LGPL-3.0-or-later",
    "scipy": "BSD-3-Clause",
}
HEAD = """# Notice

canewright is licensed under the Apache License 2.0 (see LICENSE). It is installed beside the libraries below, each
under its own licence; none of them is copied into this repository. Versions are those of the lock files. This file is
written by `tools/notices.py` from what the libraries state about themselves.

CasADi (LGPL) is used unchanged, as a library loaded at run time; its wheel also carries solvers under licences of their
own, among them IPOPT (EPL-2.0), MUMPS (CeCILL-C), DAQP (MIT) and SUNDIALS (BSD-3-Clause). `iapws` (GPL) serves as a
reference in tests only and is neither needed nor installed to run canewright. Typst sets statements with the fonts that
its wheel carries, among them Libertinus (SIL Open Font License).
"""


def pins(lock: Path) -> dict[str, str]:
    """Name and version of every library in a lock file."""
    return dict(PIN.findall(lock.read_text(encoding="utf-8")))


def licence(name: str) -> str:
    """The licence an installed library states: expression, else classifier, else short free text.

    Raises LookupError when it states none.
    """
    if name in NAMED_ELSEWHERE:
        return NAMED_ELSEWHERE[name]
    stated = importlib.metadata.metadata(name).json
    expression = stated.get("license_expression")
    if expression:
        return str(expression)
    labels = [str(c).rpartition(" :: ")[2] for c in stated.get("classifier", []) if str(c).startswith("License ::")]
    free = str(stated.get("license", "")).strip()
    for found in (*labels, free):
        if found and "\n" not in found:
            return found
    raise LookupError(f"{name} states no licence; add it to NAMED_ELSEWHERE in tools/notices.py")


def _table(title: str, libraries: dict[str, str]) -> str:
    rows = [f"| {name} | {version} | {licence(name)} |" for name, version in sorted(libraries.items())]
    return "\n".join([f"## {title}", "", "| library | version | licence |", "|---|---|---|", *rows, ""])


def notice() -> str:
    """The whole of NOTICE.md for the lock files as they stand."""
    run = pins(ROOT / "requirements.lock")
    checks = {k: v for k, v in pins(ROOT / "requirements-dev.lock").items() if k not in run}
    return "\n".join([HEAD, _table("Needed to run", run), _table("Needed for tests and checks only", checks)])


def main() -> int:
    """Write or check the file."""
    path = ROOT / "NOTICE.md"
    if "--check" in sys.argv[1:]:
        fresh = path.is_file() and path.read_text(encoding="utf-8") == notice()
        print("NOTICE.md is up to date" if fresh else "NOTICE.md is out of date: run python tools/notices.py")
        return 0 if fresh else 1
    path.write_text(notice(), encoding="utf-8")
    print(f"wrote {path}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
