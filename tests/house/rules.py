"""The rules of the house as functions from a parsed module to the places that break them."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

FOLDERS = {
    "terms": set[str](),
    "plain": {"terms"},
    "reckon": {"terms"},
    "sheets": {"terms", "plain"},
    "sound": {"terms"},
    "hear": {"terms", "reckon", "sound"},
    "understand": {"terms"},
    "decide": {"terms", "reckon"},
    "remember": {"terms", "plain", "sound"},
    "speak": {"terms", "reckon", "sound"},
    "show": {"terms", "reckon", "decide"},
}
"""What each folder may import of the house; `run` wires them all and may import anything."""

PURE = {"understand", "decide", "reckon"}
PURE_STDLIB = {
    "__future__",
    "abc",
    "bisect",
    "collections",
    "copy",
    "dataclasses",
    "datetime",
    "decimal",
    "difflib",
    "enum",
    "fractions",
    "functools",
    "graphlib",
    "heapq",
    "itertools",
    "math",
    "operator",
    "random",
    "re",
    "statistics",
    "string",
    "types",
    "typing",
}
"""What a pure folder may take from the standard library (of `random` only `Random(seed)`)."""

NUMPY_FOLDERS = {"reckon", "sound", "hear", "speak"}
"""Arithmetic on samples: numpy is a tool there and not a plug-in."""
FILES_OF_LIBRARY = {"espeakng_loader": 2}
"""In how many files a foreign library may enter, where that is not one: two programs load it."""
RAISES_BARE = {"hear/engines/vosk_library.py"}
"""Where a broad except is right: the library raises nothing but Exception."""

CLOCK = "run/clock.py"
CLOCK_MODULES = {"time", "sched", "timeit"}
CLOCK_READINGS = {"now", "utcnow", "today"}

MOST_LINES = 400
MOST_FUNCTION_LINES = 60
BROAD = {"Exception", "BaseException"}
BUILT_IN_ERRORS = {"ValueError", "RuntimeError", "KeyError", "LookupError", "OSError", "Exception"}


@dataclass(frozen=True)
class Module:
    """One parsed file of the package."""

    path: str
    """Relative to the package, with forward slashes."""
    source: str
    """Its text."""
    tree: ast.Module
    """Its syntax tree."""

    @property
    def folder(self) -> str:
        """First folder of its path, or empty at the top of the package."""
        return self.path.split("/")[0] if "/" in self.path else ""

    @property
    def name(self) -> str:
        """Its dotted name."""
        parts = ["bayhelper", *self.path.removesuffix(".py").split("/")]
        return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def module(path: str, source: str) -> Module:
    """Parse one file."""
    return Module(path, source, ast.parse(source))


def modules(package: Path) -> tuple[Module, ...]:
    """Every file of the package."""
    return tuple(
        module(path.relative_to(package).as_posix(), path.read_text(encoding="utf-8"))
        for path in sorted(package.rglob("*.py"))
    )


def imports(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and dotted name of everything imported, wherever it stands."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            yield node.lineno, base
            if base.startswith("bayhelper"):
                yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def dotted(node: ast.expr) -> str:
    """`a.b.c` as text; empty for anything else."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        left = dotted(node.value)
        return f"{left}.{node.attr}" if left else ""
    return ""


def folder_imports(mod: Module) -> Iterator[str]:
    """Imports run one way along the walk of a word, and nobody imports `run`."""
    if mod.folder in ("run", ""):
        return
    may = FOLDERS[mod.folder] | {mod.folder}
    for line, name in imports(mod.tree):
        parts = name.split(".")
        if name.startswith("."):
            yield f"{mod.path}:{line}: relative import; write it out"
        elif parts[0] == "bayhelper" and len(parts) > 1 and parts[1] not in may:
            yield f"{mod.path}:{line}: {mod.folder} may not import {name}"


def purity(mod: Module) -> Iterator[str]:
    """No I/O, threads, clock or randomness where decisions are made."""
    if mod.folder not in PURE:
        return
    for line, name in imports(mod.tree):
        top = name.split(".")[0]
        if top in sys.stdlib_module_names and top not in PURE_STDLIB:
            yield f"{mod.path}:{line}: {mod.folder} is pure and may not import {name}"
    for node in ast.walk(mod.tree):
        if not isinstance(node, ast.Call):
            continue
        called = dotted(node.func)
        if called in {"open", "print", "input", "exec", "eval"}:
            yield f"{mod.path}:{node.lineno}: {called}() in a pure folder"
        seeded = called in {"random.Random", "Random"} and bool(node.args)
        if (called.startswith("random.") or called == "Random") and not seeded:
            yield f"{mod.path}:{node.lineno}: randomness without a seed that was passed in"


def clock(mod: Module) -> Iterator[str]:
    """Time is passed in."""
    if mod.path == CLOCK:
        return
    for line, name in imports(mod.tree):
        if name in CLOCK_MODULES:
            yield f"{mod.path}:{line}: imports {name}; only {CLOCK} reads a clock"
    for node in ast.walk(mod.tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            of = dotted(node.func.value).split(".")[-1]
            if node.func.attr in CLOCK_READINGS and of in {"datetime", "date"}:
                yield f"{mod.path}:{node.lineno}: {of}.{node.func.attr}() outside {CLOCK}"


def size(mod: Module) -> Iterator[str]:
    """One noun a module, functions that fit on a screen."""
    lines = mod.source.count("\n")
    if lines > MOST_LINES:
        yield f"{mod.path}: {lines} lines; at most {MOST_LINES}"
    for node in ast.walk(mod.tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            if length > MOST_FUNCTION_LINES:
                yield f"{mod.path}:{node.lineno}: {node.name} has {length} lines"


def errors(mod: Module) -> Iterator[str]:
    """One family of errors; no assert; nothing is swallowed outside the outermost loops."""
    for node in ast.walk(mod.tree):
        if isinstance(node, ast.Assert):
            yield f"{mod.path}:{node.lineno}: assert vanishes under -O"
        elif isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            name = dotted(node.exc.func)
            if name in BUILT_IN_ERRORS:
                yield f"{mod.path}:{node.lineno}: raises {name}; use the family in terms/errors.py"
        elif isinstance(node, ast.ExceptHandler) and mod.folder != "run":
            if mod.path in RAISES_BARE:
                continue
            kinds = node.type.elts if isinstance(node.type, ast.Tuple) else [node.type]
            if any(kind is None or dotted(kind) in BROAD for kind in kinds):
                yield f"{mod.path}:{node.lineno}: broad except outside run"


def import_time(mod: Module) -> Iterator[str]:
    """Nothing runs on import, and no module keeps changing state."""
    quiet = (
        ast.Import,
        ast.ImportFrom,
        ast.Assign,
        ast.AnnAssign,
        getattr(ast, "TypeAlias", ast.AnnAssign),  # new in Python 3.12
        ast.FunctionDef,
        ast.AsyncFunctionDef,
        ast.ClassDef,
    )
    for node in mod.tree.body:
        text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        guard = isinstance(node, ast.If) and (
            "TYPE_CHECKING" in ast.dump(node.test) or "__main__" in ast.dump(node.test)
        )
        if not (isinstance(node, quiet) or text or guard):
            yield f"{mod.path}:{node.lineno}: runs on import"
    for found in ast.walk(mod.tree):
        if isinstance(found, ast.Global):
            yield f"{mod.path}:{found.lineno}: global state"


def frozen(mod: Module) -> Iterator[str]:
    """Every message, event and result is a frozen dataclass with a sentence under each field.

    A class whose name begins with an underscore never leaves its module, and is none of these.
    """
    for node in ast.walk(mod.tree):
        if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
            continue
        marks = [mark for mark in node.decorator_list if "dataclass" in ast.dump(mark)]
        if not marks:
            continue
        if not any("frozen" in ast.dump(mark) for mark in marks):
            yield f"{mod.path}:{node.lineno}: {node.name} is not frozen"
        following = [*node.body[1:], ast.Pass()]
        for field, after in zip(node.body, following, strict=True):
            told = isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant)
            hidden = isinstance(field, ast.AnnAssign) and (
                dotted(field.target).startswith("_") or "ClassVar" in ast.dump(field.annotation)
            )
            if isinstance(field, ast.AnnAssign) and not hidden and not told:
                name = f"{node.name}.{dotted(field.target)}"
                yield f"{mod.path}:{field.lineno}: no sentence under {name}"


RULES: tuple[Callable[[Module], Iterator[str]], ...] = (
    folder_imports,
    purity,
    clock,
    size,
    errors,
    import_time,
    frozen,
)


def foreign(mods: tuple[Module, ...]) -> dict[str, set[str]]:
    """The files by which each library from outside the standard library comes in."""
    files: dict[str, set[str]] = {}
    for mod in mods:
        for _, name in imports(mod.tree):
            top = name.split(".")[0]
            if top not in sys.stdlib_module_names and top not in {"bayhelper", ""}:
                files.setdefault(top, set()).add(mod.path)
    return files


def doors(mods: tuple[Module, ...]) -> Iterator[str]:
    """Each foreign library enters through one file."""
    for library, files in sorted(foreign(mods).items()):
        if library == "numpy":
            strays = sorted(f for f in files if f.split("/")[0] not in NUMPY_FOLDERS)
            if strays:
                yield f"numpy in {', '.join(strays)}; only in {', '.join(sorted(NUMPY_FOLDERS))}"
        elif len(files) > FILES_OF_LIBRARY.get(library, 1):
            yield f"{library} enters through {', '.join(sorted(files))}; one door only"


def needs(mods: tuple[Module, ...]) -> dict[str, set[str]]:
    """The modules of the house that each module imports when it is loaded."""
    names = {mod.name for mod in mods}
    graph: dict[str, set[str]] = {}
    for mod in mods:
        loaded = [node for node in mod.tree.body if not isinstance(node, ast.If)]
        found = {name for node in loaded for _, name in imports(node)}
        graph[mod.name] = (found & names) - {mod.name, "bayhelper"}
    return graph
