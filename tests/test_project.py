"""The project keeps its own rules: sizes, documentation, unfinished work, words, locks and licences."""

from __future__ import annotations

import ast
import os
import re
import shutil
import socket
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULE_LINES = 500
FUNCTION_LINES = 60
SHIPPED = ("src", "benchmarks", "tools")
TEXT = {".py", ".md", ".toml", ".lock", ".html", ".css", ".js", ".csv", ".json", ".txt", ".sh", ".ini", ".mako", ""}
SCRIPTS = ("start", "check", "bench", ".ci/run", "tools/env.sh")
UNFINISHED = re.compile(
    "|".join(("TO" + "DO", "FIX" + "ME", "NotImplemented" + "Error", r"pytest\.sk" + "ip", "xf" + "ail"))
)
OUTSIDE_WORDS = re.compile("|".join((r"\btrans" + "cripts?\\b", "seed " + "document", "/wo" + "rk/")), re.IGNORECASE)
INDEX_HOST = re.compile(r"https?://[^/\s]*(?:pyp[i]|python[h]osted|npm[j]s|registr[y]|mirro[r])", re.IGNORECASE)
PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+) \\\n((?:    --hash=\S+(?: \\)?\n)+)", re.MULTILINE)

Function = ast.FunctionDef | ast.AsyncFunctionDef


def modules(*folders: str) -> list[Path]:
    """Every Python file in these folders of the project."""
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))


def shown(path: Path) -> str:
    """A path as a person names it: from the project's folder on."""
    return path.relative_to(ROOT).as_posix()


def own_files() -> list[Path]:
    """Every text file of the project, without the folders that .gitignore leaves out."""
    ignored = {line.rstrip("/") for line in (ROOT / ".gitignore").read_text(encoding="utf-8").split() if "/" in line}
    found: list[Path] = []
    for folder, inner, names in os.walk(ROOT):
        inner[:] = [name for name in inner if name not in ignored | {".git"}]
        found.extend(Path(folder, name) for name in names if Path(name).suffix in TEXT)
    return sorted(found)


def functions(tree: ast.AST) -> Iterator[Function]:
    """Every function and method of a module, nested ones too."""
    return (node for node in ast.walk(tree) if isinstance(node, Function))


def body_lines(function: Function) -> int:
    """Lines of a function's body without its docstring."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def undocumented(scope: ast.Module | ast.ClassDef, path: str) -> Iterator[str]:
    """Names of public functions, methods and classes without a docstring."""
    for node in scope.body:
        if not isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)) or node.name.startswith("_"):
            continue
        if ast.get_docstring(node) is None:
            yield f"{path}:{node.lineno} {node.name}"
        if isinstance(node, ast.ClassDef):
            yield from undocumented(node, path)


def pins(lock: str) -> dict[str, tuple[str, frozenset[str]]]:
    """Name to version and hashes, as a lock file states them."""
    text = (ROOT / lock).read_text(encoding="utf-8")
    return {
        name: (version, frozenset(re.findall(r"sha256:\w+", hashes))) for name, version, hashes in PIN.findall(text)
    }


def test_no_module_is_longer_than_500_lines() -> None:
    long = {
        shown(path): lines
        for path in modules(*SHIPPED)
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > MODULE_LINES
    }
    assert long == {}


def test_no_function_body_is_longer_than_60_lines() -> None:
    long = {
        f"{shown(path)}:{function.name}": body_lines(function)
        for path in modules(*SHIPPED)
        for function in functions(ast.parse(path.read_text(encoding="utf-8")))
        if body_lines(function) > FUNCTION_LINES
    }
    assert long == {}


def test_body_lines_counts_without_the_docstring() -> None:
    (function,) = functions(ast.parse('def f() -> None:\n    """One.\n\n    Two.\n    """\n    a = 1\n    b = 2\n'))
    assert body_lines(function) == 2


def test_every_module_and_public_name_is_documented() -> None:
    missing = []
    for path in modules(*SHIPPED):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if ast.get_docstring(tree) is None:
            missing.append(shown(path))
        missing.extend(undocumented(tree, shown(path)))
    assert missing == []


def test_a_name_without_a_docstring_is_found() -> None:
    tree = ast.parse(
        'class Seen:\n    """Yes."""\n    def missing(self) -> None: ...\n    def _own(self) -> None: ...\n'
    )
    assert list(undocumented(tree, "here")) == ["here:3 missing"]


@pytest.mark.parametrize(
    ("rule", "folders"),
    [(UNFINISHED, ("src", "tests", "tools", "benchmarks")), (OUTSIDE_WORDS, ("",)), (INDEX_HOST, ("",))],
    ids=["unfinished work", "words that mean nothing to a user", "package index addresses"],
)
def test_nothing_unwanted_is_written(rule: re.Pattern[str], folders: tuple[str, ...]) -> None:
    found = [
        f"{shown(path)}:{number}: {match.group()}"
        for path in own_files()
        if shown(path).startswith(folders)
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if (match := rule.search(line))
    ]
    assert found == []


def test_the_search_sees_code_scripts_and_documents_but_no_environment() -> None:
    seen = {shown(path) for path in own_files()}
    assert {"start", ".ci/run", "README.md", "tests/test_project.py", "src/canewright/__init__.py"} <= seen
    assert not [name for name in seen if name.startswith((".venv/", ".git/", "demo-business/"))]


@pytest.mark.parametrize(
    ("rule", "line"),
    [
        (UNFINISHED, "# " + "TO" + "DO: later"),
        (UNFINISHED, "@pytest.mark." + "xf" + "ail"),
        (OUTSIDE_WORDS, "see the " + "trans" + "cript"),
        (INDEX_HOST, "https://" + "py" + "pi.org/simple"),
        (INDEX_HOST, "https://" + "registry" + ".example.org"),
    ],
)
def test_the_rules_on_words_find_what_they_are_for(rule: re.Pattern[str], line: str) -> None:
    assert rule.search(line)


def test_setting_up_names_no_address_and_no_index() -> None:
    files = (*SCRIPTS, "pyproject.toml", "requirements.lock", "requirements-dev.lock")
    for name in files:
        text = (ROOT / name).read_text(encoding="utf-8")
        assert "://" not in text, name
        assert "--index" not in text, name
        assert "--extra-index" not in text, name


def test_both_locks_pin_the_same_versions_with_the_same_hashes() -> None:
    run, checks = pins("requirements.lock"), pins("requirements-dev.lock")
    assert len(run) >= 12
    assert {name: checks.get(name) for name in run} == run
    assert len(checks) > len(run)


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-dev.lock"])
def test_every_pin_of_a_lock_carries_a_hash(lock: str) -> None:
    text = (ROOT / lock).read_text(encoding="utf-8")
    assert len(re.findall(r"^\S+==", text, re.MULTILINE)) == len(pins(lock))
    assert all(hashes for _, hashes in pins(lock).values())


def test_every_declared_dependency_is_locked() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    declared = {
        "requirements.lock": (*project["dependencies"], *extras["build"]),
        "requirements-dev.lock": extras["dev"],
    }
    for lock, requirements in declared.items():
        names = {re.split(r"[<>=!~\[ ]", each)[0].lower() for each in requirements}
        assert names - {name.lower() for name in pins(lock)} == set(), lock


def test_the_notice_lists_every_locked_library_with_its_licence() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "tools" / "notices.py"), "--check"], check=False, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    notice = (ROOT / "NOTICE.md").read_text(encoding="utf-8")
    for name, (version, _) in pins("requirements-dev.lock").items():
        assert f"| {name} | {version} |" in notice


def test_the_licence_is_apache_2() -> None:
    text = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert "Apache License" in text
    assert "END OF TERMS AND CONDITIONS" in text


@pytest.mark.parametrize("name", SCRIPTS)
def test_scripts_are_valid_bash(name: str) -> None:
    done = subprocess.run(["bash", "-n", str(ROOT / name)], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("name", ["start", "check", "bench", ".ci/run"])
def test_commands_are_executable(name: str) -> None:
    assert (ROOT / name).stat().st_mode & 0o111 == 0o111


def test_check_refuses_an_option_it_does_not_know_in_one_line() -> None:
    done = subprocess.run([str(ROOT / "check"), "--fast"], check=False, capture_output=True, text=True)
    assert done.returncode == 1
    assert done.stderr == "canewright: unknown option '--fast'. Use --full, --without-browser or nothing.\n"


def _env(call: str, path: str) -> subprocess.CompletedProcess[str]:
    """Run one function of tools/env.sh with this PATH."""
    script = f'. "{ROOT}/tools/env.sh"; {call}'
    return subprocess.run(
        ["/bin/bash", "-c", script], check=False, capture_output=True, text=True, env={"PATH": path}, cwd="/"
    )


def test_a_machine_without_python_3_11_is_told_the_cure_in_one_line(tmp_path: Path) -> None:
    for name, version in (("python3", "3.9"), ("python3.11", "3.11, but broken")):
        fake = tmp_path / name
        fake.write_text(f"#!/bin/bash\n# Python {version}\nexit 1\n", encoding="utf-8")
        fake.chmod(0o755)
    (tmp_path / "dirname").symlink_to("/usr/bin/dirname")
    done = _env("find_python", str(tmp_path))
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "Python 3.11 was not found" in done.stderr
    assert "Install" in done.stderr


def test_a_full_disk_is_told_in_one_line() -> None:
    done = _env("require_disk 999999999", "/usr/bin:/bin")
    assert done.returncode == 1
    assert re.fullmatch(r"canewright: only \d+ MB are free on .*\n", done.stderr)


def test_a_taken_port_is_passed_over() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        number = taken.getsockname()[1]
        done = _env(f'PYTHON="{sys.executable}"; free_port {number}', "/usr/bin:/bin")
    assert done.returncode == 0, done.stderr
    assert number < int(done.stdout) < number + 20


def test_the_first_words_of_the_readme_are_the_job_then_two_commands() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    assert blocks[0].split() == ["./start", "./check"]
    opening = text.split("\n\n")[1]
    assert not opening.startswith("#")
    for word in ("chief chemist", "morning", "reconcile"):
        assert word in opening


CONTRACT_BREAKS = [
    ("intervals", "import canewright.quantity", "dependencies point downward"),
    ("quantity", "import canewright.plant", "dependencies point downward"),
    ("analysis", "import canewright.engine", "dependencies point downward"),
    ("engine", "import canewright.properties", "the engine knows nothing of sugar"),
    ("plant", "import canewright.store", "the plant and the formulas know nothing of databases"),
    ("web", "import canewright.engine", "pages compute nothing"),
    ("plant", "import casadi", "only the engine imports CasADi"),
    ("accounts", "def late() -> None:\n    import sqlite3", "only the store imports the database library"),
    ("accounts", "import sqlalchemy", "only the store imports the database library"),
    ("accounts", "import jinja2", "only the web imports the web framework"),
    ("plant/stations/one.py", "import canewright.plant.stations.two", "stations meet through streams"),
    ("plans", "import canewright.cane", "dependencies point downward"),
    ("cane", "import canewright.plans", "dependencies point downward"),
    ("plans", "import canewright.engine", "plans take plain tables"),
    ("elsewhere.py", "", "dependencies point downward"),
    (
        "demonstration/closing.py", "import canewright.demonstration.truth",
        "what closes the invented season knows nothing of its truth",
    ),
]  # fmt: skip


def _contracts(folder: Path) -> str:
    """What the import contracts say of the package in this folder."""
    done = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"],
        check=False,
        capture_output=True,
        text=True,
        cwd=folder,
        env={"PYTHONPATH": str(folder / "src"), "PATH": "/usr/bin:/bin", "COLUMNS": "200"},
    )
    return done.stdout + done.stderr


def _skeleton(folder: Path) -> Path:
    """A package with the parts of this one, all empty, under the same contracts."""
    shutil.copy(ROOT / "pyproject.toml", folder)
    package = folder / "src" / "canewright"
    below = ("intervals", "quantity", "properties", "store", "analysis", "engine", "plant")
    parts = (*below, "cane", "pans", "plans", "accounts", "reports", "web", "demonstration")
    for part in (*parts, "plant/stations"):
        (package / part).mkdir(parents=True)
        (package / part / "__init__.py").touch()
    seasonal = [f"demonstration/{m}" for m in ("closing", "truth", "faults", "course", "noise", "season", "scoring")]
    for module in ("__init__", "plant/stations/one", "plant/stations/two", *seasonal):
        (package / f"{module}.py").touch()
    return package


def test_a_house_in_order_keeps_every_contract(tmp_path: Path) -> None:
    package = _skeleton(tmp_path)
    (package / "engine" / "__init__.py").write_text("import casadi\n", encoding="utf-8")
    (package / "store" / "__init__.py").write_text("import sqlalchemy, alembic, sqlite3\n", encoding="utf-8")
    (package / "web" / "__init__.py").write_text("import starlette, jinja2, uvicorn\n", encoding="utf-8")
    (package / "cli.py").write_text("import canewright.web, canewright.accounts\n", encoding="utf-8")
    said = _contracts(tmp_path)
    assert " 0 broken" in said, said
    assert "BROKEN" not in said


@pytest.mark.parametrize(("part", "line", "contract"), CONTRACT_BREAKS)
def test_an_import_against_the_house_is_refused(tmp_path: Path, part: str, line: str, contract: str) -> None:
    package = _skeleton(tmp_path)
    place = package / part if part.endswith(".py") else package / part / "__init__.py"
    place.write_text(f"{line}\n", encoding="utf-8")
    said = _contracts(tmp_path)
    assert any(row.startswith(contract) and "BROKEN" in row for row in said.splitlines()), said
