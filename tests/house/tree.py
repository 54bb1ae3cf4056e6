"""The tree as data: which modules there are, what each imports, and the text of the other files.

Only reads. What is allowed is left to the tests beside it.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef

# What tools and builds leave behind; `.ci` is the one hidden folder that is ours.
_NOT_OURS = {"build", "dist"}
_TEXT = {".py", ".html", ".css", ".js", ".md", ".toml", ".txt", ".json", ".lock", ".csv", ".svg", ""}


@dataclass(frozen=True)
class Module:
    """One Python file: its dotted name, its path from the root, and its source."""

    name: str
    path: Path
    source: str

    @cached_property
    def tree(self) -> ast.Module:
        """Its syntax tree, read when first asked for: parsing every file takes seconds."""
        return ast.parse(self.source, str(self.path))

    @property
    def is_package(self) -> bool:
        return self.path.name == "__init__.py"


class Import(NamedTuple):
    """One imported name. `module` is where it is looked for, `name` what is taken from it (or None)."""

    module: str
    name: str | None
    line: int
    for_types_only: bool


def _is_ours(path: Path) -> bool:
    top = path.relative_to(ROOT).parts[0]
    hidden = top.startswith(".") and top not in {".ci", ".gitignore"}
    return not hidden and top not in _NOT_OURS and "__pycache__" not in path.parts


def modules(*folders: str) -> tuple[Module, ...]:
    """Every Python module below the named top folders, in order of path."""
    return tuple(module for folder in folders for module in _modules_below(folder))


@cache
def _modules_below(folder: str) -> tuple[Module, ...]:
    found = []
    for path in sorted((ROOT / folder).rglob("*.py")):
        relative = path.relative_to(ROOT)
        parts = relative.with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found.append(Module(name, relative, path.read_text(encoding="utf-8")))
    return tuple(found)


@cache
def texts() -> tuple[tuple[Path, str], ...]:
    """Path from the root and text of every file of ours that is text."""
    files = (
        path for path in sorted(ROOT.rglob("*")) if path.is_file() and path.suffix in _TEXT and _is_ours(path)
    )
    return tuple((path.relative_to(ROOT), path.read_text(encoding="utf-8")) for path in files)


def templates() -> list[Path]:
    """Every template, as a path below `templates`, in order."""
    folder = ROOT / "templates"
    return sorted(path.relative_to(folder) for path in folder.rglob("*") if path.is_file())


def functions(module: Module) -> Iterator[FunctionNode]:
    """Every function of a module, methods and inner ones included."""
    return (node for node in ast.walk(module.tree) if isinstance(node, FunctionNode))


def length(node: FunctionNode) -> int:
    """Lines from `def` to the last line of the body; decorators do not count."""
    return (node.end_lineno or node.lineno) - node.lineno + 1


def imports(module: Module) -> list[Import]:
    """Every import of a module, wherever it stands, with relative ones made absolute."""
    type_only = {
        id(inner)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
        for inner in ast.walk(node)
    }
    found = []
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            found += [Import(alias.name, None, node.lineno, id(node) in type_only) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            source = _absolute(module, node)
            found += [Import(source, alias.name, node.lineno, id(node) in type_only) for alias in node.names]
    return found


def _absolute(module: Module, node: ast.ImportFrom) -> str:
    if not node.level:
        return node.module or ""
    base = module.name.split(".")
    base = base[: len(base) - node.level + (1 if module.is_package else 0)]
    return ".".join([*base, *([node.module] if node.module else [])])


def dotted(node: ast.expr) -> str:
    """`a.b.c` for a chain of names, with a call in the chain written `()`; empty for anything else."""
    match node:
        case ast.Name(id=name):
            return name
        case ast.Attribute(value=value, attr=attr):
            return f"{dotted(value)}.{attr}"
        case ast.Call(func=func):
            return f"{dotted(func)}()"
    return ""
