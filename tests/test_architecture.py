"""The house: who may import whom, what the package offers, and that every module stands on its own."""

from __future__ import annotations

import ast
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import flipcheck
from flipcheck.stack.monte_carlo.blocks import cores

PACKAGE = Path(flipcheck.__file__).parent
MODULES = sorted(
    str(path.relative_to(PACKAGE.parent).with_suffix("")).replace("/", ".").removesuffix(".__init__")
    for path in PACKAGE.rglob("*.py")
    if path.name != "__main__.py"
)

#: Ground floor first: a module imports from its own room and from the floors below it.
FLOORS = ["errors", "files", "tables", "stack", "job", "flip", "decide", "show", "cli"]

#: Packages that one module alone may import.
ONLY_IN = {"pint": {"flipcheck.job.quantities"}, "uncertainties": {"flipcheck.stack.first_order"}}

#: Packages too heavy to load before they are needed.
HEAVY = {"scipy", "matplotlib", "pint", "uncertainties"}


def imports(module: str) -> list[tuple[str, bool]]:
    """Modules that a module imports, and whether at its top (type checking aside)."""
    path = PACKAGE.parent / Path(*module.split("."))
    file = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    tree = ast.parse(file.read_text(encoding="utf-8"))
    typing_only = {
        id(node)
        for block in ast.walk(tree)
        if isinstance(block, ast.If) and getattr(block.test, "id", "") == "TYPE_CHECKING"
        for node in ast.walk(block)
    }
    found = []
    for node in ast.walk(tree):
        names = (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [str(node.module)]
            if isinstance(node, ast.ImportFrom)
            else []
        )
        found += [(name, node in tree.body and id(node) not in typing_only) for name in names]
    return found


def floor(module: str) -> int | None:
    """The floor of a module of the package; None for the package itself."""
    room = module.split(".")[1:2]
    return FLOORS.index(room[0]) if room and room[0] in FLOORS else None


@pytest.mark.parametrize("module", MODULES)
def test_imports_go_down(module: str):
    """A module imports from its own room and from the floors below it, never from above."""
    mine = floor(module)
    if mine is None:
        assert module in {"flipcheck", "flipcheck.examples"}
        return
    for name, _ in imports(module):
        theirs = floor(name) if name.startswith("flipcheck.") else None
        assert theirs is None or theirs <= mine, f"{module} imports {name}"


@pytest.mark.parametrize("module", MODULES)
def test_heavy_packages_are_loaded_where_they_are_used(module: str):
    """Some packages have one importer, and none of the heavy ones is imported at the top of a module."""
    for name, at_top in imports(module):
        package = name.split(".")[0]
        assert module in ONLY_IN.get(package, {module}), f"{module} imports {package}"
        assert not (at_top and package in HEAVY), f"{module} imports {package} at its top"


def test_every_room_is_known():
    """A new room must find its floor."""
    rooms = {path.stem for path in PACKAGE.iterdir() if path.suffix == ".py" or (path / "__init__.py").exists()}

    assert {*FLOORS, "__init__", "__main__"} == rooms


def test_every_module_imports_alone():
    """Each module can be the first one imported in a fresh interpreter."""
    code = "import importlib, sys; importlib.import_module(sys.argv[1])"

    def errors(module: str) -> str:
        return subprocess.run([sys.executable, "-c", code, module], capture_output=True, text=True, check=False).stderr

    with ThreadPoolExecutor(cores()) as pool:
        assert dict.fromkeys(MODULES, "") == dict(zip(MODULES, pool.map(errors, MODULES), strict=True))


def test_public_names():
    """What the package lists is what it has, and nothing else is public."""
    assert sorted(flipcheck.__all__) == dir(flipcheck)
    assert all(getattr(flipcheck, name) is not None for name in flipcheck.__all__)


def test_unknown_name():
    """A name that the package does not have is refused as Python does it."""
    with pytest.raises(AttributeError, match="module 'flipcheck' has no attribute 'chekc'"):
        flipcheck.chekc  # noqa: B018


def test_importing_the_package_loads_nothing():
    """`import flipcheck` loads neither numpy nor anything heavier."""
    code = "import sys, flipcheck; print(sorted({'numpy', 'scipy', 'pydantic', 'pint'} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert "[]\n" == run.stdout
