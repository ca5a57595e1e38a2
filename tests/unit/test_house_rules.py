"""The laws of the house that a machine can hold: layout, size, errors, words."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from fitcheck.checks.run import CHECKS

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("fitcheck", "parametric_models")
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "fitcheck", "parametric_models", "sample_assemblies", "tests"}
MOST_LINES = 500
"""Modules are 60 to 350 lines; this is where one is cut in two."""


@cache
def files() -> tuple[str, ...]:
    """The files of the tree, as Git has them; without Git all but caches and environments."""
    try:
        done = subprocess.run(
            ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        )
    except (OSError, subprocess.CalledProcessError):
        skipped = {"__pycache__", "build", "venv"}
        found = (path.relative_to(ROOT) for path in ROOT.rglob("*") if path.is_file())
        return tuple(
            path.as_posix()
            for path in found
            if not any(part in skipped or part.startswith(".") or part.endswith(".egg-info") for part in path.parts)
        )
    return tuple(name for name in done.stdout.splitlines() if (ROOT / name).is_file())


def modules() -> list[str]:
    return [name for name in files() if name.endswith(".py") and name.split("/")[0] in PACKAGES]


def tree(name: str) -> ast.Module:
    return ast.parse((ROOT / name).read_text(encoding="utf-8"), name)


def test_the_top_level_holds_nothing_else():
    top = {name.split("/")[0] for name in files()}
    assert {name for name in top if not name.startswith(".")} == TOP


@pytest.mark.parametrize("name", modules())
def test_modules_are_short_and_say_what_they_are(name):
    text = (ROOT / name).read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_LINES
    assert ast.get_docstring(tree(name)), "a module begins with what it is for"


def cad_imports(name: str) -> list[str]:
    """Modules of the CAD kernel that a file imports anywhere, inside functions too."""
    found = []
    for node in ast.walk(tree(name)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            found.append(node.module or "")
    return [module for module in found if module.split(".")[0] in ("OCP", "cadquery", "vtk", "vtkmodules")]


def test_only_the_kernel_room_and_the_generators_import_the_cad_kernel():
    users = {name for name in modules() if cad_imports(name)}
    assert users, "the search itself must find something"
    assert {name for name in users if not name.startswith(("fitcheck/kernel/", "parametric_models/"))} == set()


def test_no_error_is_swallowed():
    for name in modules():
        for node in ast.walk(tree(name)):
            if isinstance(node, ast.ExceptHandler):
                place = f"{name}:{node.lineno}"
                assert node.type is not None, f"{place}: a bare except"
                caught = ast.unparse(node.type)
                passes = all(isinstance(line, ast.Pass | ast.Continue) for line in node.body)
                assert not (passes and caught in ("Exception", "BaseException")), f"{place}: swallows everything"


def test_every_check_has_its_file_and_the_file_its_tests():
    for name in CHECKS:
        stem = name.replace("-", "_")
        assert f"fitcheck/checks/{stem}.py" in files()
        tests = [(ROOT / test).read_text() for test in files() if test.startswith("tests/unit/checks/")]
        assert any(name in text or stem in text for text in tests), f"no test of {name}"


def test_nothing_names_the_place_where_it_was_made():
    # A folder of one machine, in the code or in a document, works on that machine only.
    places = re.compile(r"(?<![\w.])/(?:home|root|Users|work|tmp)/\w")
    here = Path(__file__).relative_to(ROOT).as_posix()
    for name in files():
        if name == here or name.endswith((".png", ".step")):
            continue
        for number, line in enumerate((ROOT / name).read_text(encoding="utf-8").splitlines(), 1):
            assert not places.search(line), f"{name}:{number}: {line.strip()}"


def spoken(name: str) -> list[str]:
    """The texts in a module that are no docstrings: what a user may come to read."""
    root = tree(name)
    notes = {
        id(node.value) for node in ast.walk(root) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    constants = (node for node in ast.walk(root) if isinstance(node, ast.Constant) and id(node) not in notes)
    return [node.value for node in constants if isinstance(node.value, str)]


def test_no_message_calls_anything_safe():
    for name in modules():
        for text in spoken(name):
            assert not re.search(r"\bsafe(?:ly)?\b", text, re.IGNORECASE), f"{name}: {text}"


def test_what_the_tests_import_is_installed_with_them():
    # packages_distributions maps a module to the distributions that hold it, by their names in any spelling.
    with (ROOT / "pyproject.toml").open("rb") as stream:
        project = tomllib.load(stream)["project"]
    named = [*project["dependencies"], *project["optional-dependencies"]["dev"]]
    declared = {re.split(r"[<>=~!\[; ]", one)[0].lower().replace("_", "-") for one in named}
    homes = packages_distributions()
    # The kernel comes with CadQuery, at the release that CadQuery was made for.
    brought = {"OCP", "vtkmodules", *PACKAGES, *sys.stdlib_module_names}
    for name in files():
        if name.endswith(".py") and name.startswith(("tests/", "sample_assemblies/")):
            for node in ast.walk(tree(name)):
                modules_of = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
                if isinstance(node, ast.ImportFrom) and node.level == 0:
                    modules_of = [node.module or ""]
                # A script may import its neighbour.
                beside = {path.stem for path in (ROOT / name).parent.glob("*.py")}
                for module in {module.split(".")[0] for module in modules_of} - brought - beside:
                    homes_of = {home.lower().replace("_", "-") for home in homes.get(module, [])}
                    assert homes_of & declared, f"{name} imports {module}, which the dev extra does not install"


def test_every_data_file_is_installed():
    with (ROOT / "pyproject.toml").open("rb") as stream:
        patterns = tomllib.load(stream)["tool"]["setuptools"]["package-data"]
    for name in files():
        package, _, inner = name.partition("/")
        if package in PACKAGES and not name.endswith(".py"):
            assert any(Path(inner).match(pattern) for pattern in patterns[package]), f"{name} would not be installed"
