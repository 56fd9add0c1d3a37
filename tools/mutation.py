"""Mutation testing of the formulas: does a test fail when one figure or sign in them is wrong?

``mutation.py [--sample N] [--seed N] [--commit TEXT] [--json FILE]`` changes one place of ``properties`` or
``analysis`` at a time and runs the tests that call the changed function, the quickest first, until one fails.
A mutant is *killed* when a test fails, the module no longer loads, or the tests do not end in time; else it *survives*.

Changed are numbers (a whole number by one, a fraction by 1 %, a zero to one), ``+ - * / **``, signs, comparisons,
``and``/``or``, ``not``, ``True``/``False``: in functions and module constants (``calculation``), and in the limits of
declared arguments (``declaration``). Texts, types and worked examples are left alone. General mutation tools leave
decorated functions out, and every formula is one; hence this one. Each mutant runs in a fork of one test session.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import functools
import importlib
import json
import os
import random
import re
import signal
import sys
import time
import types
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from _pytest.runner import runtestprotocol

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("properties", "analysis")
TESTS = ("tests/properties", "tests/analysis", "tests/published")
PATIENCE = 60
"""Seconds of the processor after which a mutant that has not ended counts as killed."""
BRIEF = 0.5
"""Seconds up to which a test is run on a changed limit though it does not call the module: it may read the limit."""
CONTROL = -1
"""In place of a node: nothing is changed, and every test must pass, else the method itself kills."""
LIKE_ARGUMENT = {"argument", "Argument", "Range"}
HOMES = ("canewright.properties.ranges", "canewright.analysis.declaring")
"""Modules from which others take limits when they are loaded: after a change here all formulas are declared anew."""
NOT_CALCULATION = {"example", "gives", "equation", "source", "status", "caveat"}
OPERATORS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.And: ast.Or, ast.Or: ast.And,
    ast.USub: ast.UAdd,
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One changed place: module, number of the changed node in it, function around it (empty for none) and kind."""

    module: str
    node: int
    function: str
    kind: str
    line: int
    says: str


def changed(node: ast.AST) -> ast.AST | None:
    """A copy of this node that means something else; None where nothing is changed."""
    new: Any = copy.deepcopy(node)
    if isinstance(node, ast.Constant) and isinstance(node.value, bool):
        new.value = not node.value
    elif isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        new.value = node.value + 1 if isinstance(node.value, int) or node.value == 0 else node.value * 1.01
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        return node.operand
    elif isinstance(node, (ast.BinOp, ast.BoolOp, ast.UnaryOp, ast.AugAssign)) and type(node.op) in OPERATORS:
        if any(isinstance(part, ast.JoinedStr) or _is_text(part) for part in ast.walk(node)):
            return None
        new.op = OPERATORS[type(node.op)]()
    elif isinstance(node, ast.Compare) and type(node.ops[0]) in OPERATORS:
        new.ops[0] = OPERATORS[type(node.ops[0])]()
    else:
        return None
    return new if ast.dump(new) != ast.dump(node) else None


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def places(tree: ast.Module) -> Iterator[tuple[ast.AST, str, str]]:
    """Nodes that may be changed, with the function around them and their kind."""
    makers = _makers(tree) | _shared_makers()

    def within(node: ast.AST, function: str, kind: str) -> Iterator[tuple[ast.AST, str, str]]:
        if isinstance(node, ast.Call) and _named(node.func) in makers:
            kind = "declaration"
        yield node, function, kind
        for name, value in ast.iter_fields(node):
            if name in {"annotation", "returns", "slice_of_type"} or isinstance(node, ast.JoinedStr):
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.keyword) and child.arg in NOT_CALCULATION:
                    continue
                if isinstance(child, ast.AST):
                    yield from within(child, *_entered(child, name, function, kind, makers))

    yield from within(tree, "", "calculation")


def _makers(tree: ast.Module) -> set[str]:
    """What makes an argument in a module."""
    return LIKE_ARGUMENT | {
        f.name for f in tree.body if isinstance(f, ast.FunctionDef) and _named(f.returns) == "Argument"
    }


@functools.cache
def _shared_makers() -> frozenset[str]:
    """What makes an argument and is imported by other modules."""
    trees = [ast.parse(path.read_text(encoding="utf-8")) for _, path in _sources()]
    return frozenset(name for tree in trees for name in _makers(tree) if not name.startswith("_"))


def _entered(child: ast.AST, field: str, function: str, kind: str, makers: set[str]) -> tuple[str, str]:
    """Function and kind once inside a child."""
    if isinstance(child, ast.FunctionDef) and child.name in makers:
        return function, "declaration"
    if field == "decorator_list":
        return "", "declaration"
    if isinstance(child, (ast.FunctionDef, ast.ClassDef)):
        return f"{function}.{child.name}".lstrip("."), kind
    return function, kind


def _named(node: ast.AST | None) -> str:
    return node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""


def mutants_of(path: Path, module: str) -> Iterator[Mutant]:
    """Every mutant of a module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for number, (node, function, kind) in enumerate(places(tree)):
        new = changed(node)
        if new is not None:
            says = f"{ast.unparse(node)} -> {ast.unparse(new)}"
            yield Mutant(module, number, function, kind, getattr(node, "lineno", 0), says)


def mutated(path: Path, mutant: Mutant) -> types.CodeType:
    """The code of a module with one node changed; of a control, unchanged."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    if mutant.node == CONTROL:
        return compile(tree, str(path), "exec")
    wanted = next(node for k, (node, _, _) in enumerate(places(tree)) if k == mutant.node)
    new = changed(wanted)

    class Exchange(ast.NodeTransformer):
        def visit(self, node: ast.AST) -> Any:
            return new if node is wanted else self.generic_visit(node)

    return compile(ast.fix_missing_locations(Exchange().visit(tree)), str(path), "exec")


def transplant(module: types.ModuleType, code: types.CodeType) -> None:
    """Put the mutated code and data into the objects that tests already hold."""
    from canewright.quantity import CATALOGUE, Formula

    known = dict(CATALOGUE)
    fresh: dict[str, Any] = {"__name__": module.__name__, "__file__": module.__file__, "__package__": ""}
    exec(code, fresh)  # noqa: S102 - our own code, changed in one place
    CATALOGUE.update(known)
    for name, new in fresh.items():
        old = vars(module).get(name)
        if isinstance(old, Formula) and old.module == module.__name__:
            _same_function(old.function, new.function)
            kept = {"function": old.function}
            old.__dict__.clear()
            old.__dict__.update({f: getattr(new, f) for f in new.__dataclass_fields__} | kept)
        elif isinstance(old, types.FunctionType) and old.__module__ == module.__name__:
            _same_function(old, new)
        elif isinstance(old, type) and old.__module__ == module.__name__:
            _same_class(old, new)
        elif not name.startswith("__") and not isinstance(old, (types.ModuleType, type)) and repr(old) != repr(new):
            _everywhere(old, new)


def _same_function(old: Any, new: Any) -> None:
    old.__code__, old.__defaults__, old.__kwdefaults__ = new.__code__, new.__defaults__, new.__kwdefaults__


def _same_class(old: type, new: type) -> None:
    for guard in ("__setattr__", "__delattr__"):  # a record that may be changed has none
        if guard in vars(old) and guard not in vars(new):
            delattr(old, guard)
    for name, value in vars(new).items():
        if isinstance(value, types.FunctionType) and isinstance(vars(old).get(name), types.FunctionType):
            if value.__code__.co_freevars == vars(old)[name].__code__.co_freevars:
                _same_function(vars(old)[name], value)
        elif isinstance(value, property) and value.fget is not None:
            _same_function(vars(old)[name].fget, value.fget)


def _everywhere(old: Any, new: Any) -> None:
    """Every module that imported this object gets the new one."""
    for name, module in list(sys.modules.items()):
        if name.startswith(("canewright", "tests")):
            for key, value in list(vars(module).items()):
                if value is old:
                    setattr(module, key, new)


class Session:
    """A test session that, instead of running the tests once, runs them for every mutant."""

    def __init__(self, sample: int, seed: int) -> None:
        """``sample`` mutants of each kind are drawn with the ``seed``; 0 takes all."""
        self.sample, self.seed = sample, seed
        self.touched: dict[str, set[tuple[str, str]]] = {}
        self.seconds: dict[str, float] = {}
        self.outcomes: list[tuple[Mutant, str]] = []
        self.all: list[Mutant] = []
        self.unchanged: dict[str, types.CodeType] = {}

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Run the tests once unchanged, then for each mutant in a fork."""
        paths = dict(_sources())
        for item in session.items:
            if self._traced(item, {str(path): name for name, path in paths.items()}):
                raise SystemExit(f"{item.nodeid} fails without any mutation")
        self.all = [m for name, path in paths.items() for m in mutants_of(path, name)]
        self.unchanged = {
            name: mutated(path, Mutant(name, CONTROL, "", "", 0, "nothing")) for name, path in paths.items()
        }
        for name, path in paths.items():
            if self._outcome(Mutant(name, CONTROL, "", "declaration", 0, "nothing"), path, session.items) != "survived":
                raise SystemExit(f"{name}: tests fail after the exchange of unchanged code")
        for mutant in self._drawn():
            self.outcomes.append((mutant, self._outcome(mutant, paths[mutant.module], session.items)))
            if len(self.outcomes) % 100 == 0:
                print(len(self.outcomes), Counter(o for _, o in self.outcomes), flush=True)
        return True

    def _drawn(self) -> list[Mutant]:
        chance = random.Random(self.seed)  # noqa: S311 - a sample, no secret
        kinds = [[m for m in self.all if m.kind == kind] for kind in ("calculation", "declaration")]
        return [
            m for kind in kinds for m in (chance.sample(kind, min(self.sample, len(kind))) if self.sample else kind)
        ]

    def _traced(self, item: pytest.Item, names: dict[str, str]) -> bool:
        """Run a test, remember what it calls and how long it takes, and say whether it fails."""
        seen: set[tuple[str, str]] = set()

        def trace(frame: types.FrameType, event: str, _: Any) -> None:
            module = names.get(frame.f_code.co_filename)
            if module is not None:
                seen.add((module, frame.f_code.co_qualname.partition(".<locals>")[0]))

        begun = time.perf_counter()
        sys.settrace(trace)
        failed = fails(item)
        sys.settrace(None)
        self.touched[item.nodeid], self.seconds[item.nodeid] = seen, time.perf_counter() - begun
        return failed

    def _chosen(self, mutant: Mutant, items: list[pytest.Item]) -> list[pytest.Item]:
        """Tests that call the function; where none does (constants, what runs on loading), those of the module."""
        wanted = (mutant.module, mutant.function)
        chosen = [i for i in items if wanted in self.touched[i.nodeid]]
        if not chosen or mutant.kind == "declaration":
            chosen = [i for i in items if any(m == mutant.module for m, _ in self.touched[i.nodeid])] or items
        return self._by_seconds(chosen)

    def _outcome(self, mutant: Mutant, path: Path, items: list[pytest.Item]) -> str:
        child = os.fork()
        if child == 0:
            with contextlib.suppress(BaseException):
                os._exit(self._in_fork(mutant, path, items))
            os._exit(2)
        status = os.waitpid(child, 0)[1]
        if os.WIFSIGNALED(status):
            return "killed: no end"
        return {0: "survived", 1: "killed"}.get(os.WEXITSTATUS(status), "killed: does not load")

    def _in_fork(self, mutant: Mutant, path: Path, items: list[pytest.Item]) -> int:
        signal.setitimer(signal.ITIMER_PROF, PATIENCE)  # of the processor, so that a busy machine kills nothing
        for stream in (1, 2):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
        before = declarations()
        transplant(importlib.import_module(mutant.module), mutated(path, mutant))
        if mutant.module in HOMES:
            self._declare_anew()
        chosen = self._chosen(mutant, items)
        if mutant.kind == "declaration" and mutant.node != CONTROL:
            now = declarations()
            changed_formulas = {each for each in now if now[each] != before[each]}
            chosen = [i for i in self._by_seconds(items) if i in chosen or self.seconds[i.nodeid] < BRIEF]
            chosen = [i for i in chosen if self._may_see(i, changed_formulas, {name for _, name in now})]
        return int(any(fails(item) for item in chosen))

    def _may_see(self, item: pytest.Item, changed_formulas: set[tuple[str, str]], names: set[str]) -> bool:
        """Whether a test can meet these formulas: it calls one, is given its name, or is bound to no formula."""
        if not hasattr(item, "callspec") or self.touched[item.nodeid] & changed_formulas:
            return True
        given = names & set(re.findall(r"\w+", item.callspec.id))
        return bool(given & {name for _, name in changed_formulas}) if given else not self.touched[item.nodeid]

    def _by_seconds(self, items: list[pytest.Item]) -> list[pytest.Item]:
        return sorted(items, key=lambda i: self.seconds[i.nodeid])

    def _declare_anew(self) -> None:
        """Load every module again, those first from which others take limits."""
        for name in sorted(self.unchanged, key=lambda each: each not in HOMES):
            if name != HOMES[0]:
                transplant(importlib.import_module(name), self.unchanged[name])


def declarations() -> dict[tuple[str, str], tuple[Any, ...]]:
    """What each formula declares, by its module and function."""
    from canewright.quantity import CATALOGUE

    return {(f.module, f.name): (f.result, *f.arguments.values()) for f in CATALOGUE.values()}


def fails(item: pytest.Item) -> bool:
    """Run a test, again if need be."""
    item._initrequest()  # type: ignore[attr-defined]  # noqa: SLF001 - pytest has no public way to run a test again
    return any(report.failed for report in runtestprotocol(item, log=False, nextitem=None))


def _sources() -> Iterator[tuple[str, Path]]:
    for package in PACKAGES:
        for path in sorted((ROOT / "src" / "canewright" / package).rglob("*.py")):
            if path.name != "__init__.py":
                yield ".".join(path.relative_to(ROOT / "src").with_suffix("").parts), path


def summary(session: Session, commit: str) -> dict[str, Any]:
    """Counts and survivors as plain data."""
    counts: dict[str, Any] = {}
    for kind in ("calculation", "declaration"):
        found = Counter(outcome for mutant, outcome in session.outcomes if mutant.kind == kind)
        killed = found.total() - found["survived"]
        all_of_kind = sum(m.kind == kind for m in session.all)
        share = round(killed / found.total(), 4) if found else None
        counts[kind] = {
            "mutants": all_of_kind,
            "run": found.total(),
            "killed_share": share,
            **dict(sorted(found.items())),
        }
    survivors = [
        {"kind": m.kind, "place": f"{m.module.removeprefix('canewright.')}:{m.line} {m.function}", "change": m.says}
        for m, outcome in session.outcomes
        if outcome == "survived"
    ]
    return {
        "commit": commit,
        "seed": session.seed,
        "sample_of_each_kind": session.sample,
        **counts,
        "survivors": survivors,
    }


def main() -> int:
    """Run and report."""
    asked = argparse.ArgumentParser(description="Mutation testing of properties and analysis.")
    asked.add_argument("--sample", type=int, default=0, help="mutants of each kind (0: all)")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--commit", default="", help="what is measured")
    asked.add_argument("--json", type=Path, help="where to write")
    given = asked.parse_args()
    session = Session(given.sample, given.seed)
    command = ["-q", "-p", "no:cacheprovider", "--hypothesis-profile=ci", "-m", "not exam and not browser", *TESTS]
    os.chdir(ROOT)
    pytest.main(command, plugins=[session])
    found = json.dumps(summary(session, given.commit), indent=1, ensure_ascii=False) + "\n"
    if given.json:
        given.json.write_text(found, encoding="utf-8")
    print(found)
    return 0 if session.outcomes else 1


if __name__ == "__main__":
    sys.exit(main())
