"""Which mutants to try: a sample by the seed, without those that change nothing but text.

`mutmut` makes the mutants and runs the tests (see docs/mutation.md); this names some of them:

    mutmut run --max-children 1 $(python -m tests.mutants cutlist --number 150)

Safe side  a mutant counts as text only where the code differs in what is printed and nothing else
"""

from __future__ import annotations

import argparse
import ast
import json
import random
from pathlib import Path

MADE = Path("mutants")
PRINTED = {"why", "source", "message", "where", "found", "allowed", "what"}


class _NoText(ast.NodeTransformer):
    """Blanks what is only read by people."""

    def visit_Constant(self, node: ast.Constant) -> ast.Constant:
        return ast.Constant(None) if isinstance(node.value, str) else node

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.Constant:
        return ast.Constant(None)

    def visit_Call(self, node: ast.Call) -> ast.AST:
        if isinstance(node.func, ast.Name) and node.func.id in ("mm", "format_length"):
            return ast.Constant(None)
        node.keywords = [k for k in node.keywords if k.arg not in PRINTED]
        return self.generic_visit(node)


def bodies(path: Path) -> dict[str, str]:
    """What each function and method of a file does, without text, by its name."""
    found = {}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            found[node.name] = "\n".join(ast.dump(_NoText().visit(part)) for part in node.body)
    return found


def mutants(package: str) -> dict[str, list[str]]:
    """Those that change more than text, by module."""
    found: dict[str, list[str]] = {}
    for meta in sorted((MADE / "routecut" / package).glob("*.py.meta")):
        does = bodies(meta.with_suffix(""))
        for name in json.loads(meta.read_text(encoding="utf-8"))["exit_code_by_key"]:
            own = name.rpartition(".")[2]
            if does[own] != does[own.rpartition("__mutmut_")[0] + "__mutmut_orig"]:
                found.setdefault(name.split(".")[2], []).append(name)
    return found


def main() -> None:
    """Print the names."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("package", choices=["cutlist", "sizing", "verify"])
    asked.add_argument("--modules", default="", help="only these, divided by commas")
    asked.add_argument("--number", type=int, default=0, help="so many of them; 0: all")
    asked.add_argument("--seed", type=int, default=11)
    options = asked.parse_args()
    wanted = [m for m in options.modules.split(",") if m]
    names = [n for m, some in mutants(options.package).items() if not wanted or m in wanted for n in some]
    if options.number:
        names = sorted(random.Random(options.seed).sample(names, min(options.number, len(names))))  # noqa: S311
    print(*names, sep="\n")  # noqa: T201


if __name__ == "__main__":
    main()
