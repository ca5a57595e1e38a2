"""Every public formula says its units, its errors and its source with a mark."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from collections.abc import Callable

import pytest

import fitcheck.mechanics

NAMES = sorted(module.name for module in pkgutil.iter_modules(fitcheck.mechanics.__path__))
WITHOUT_SOURCE = {"bounds", "bench_readings"}
MARKS = ("read", "package", "computed", "memory", "common practice, no source", "definition", "closed form", "as `")
FORMULAS = [
    pytest.param(function, id=f"{name}.{function.__name__}")
    for name in NAMES
    for function in vars(importlib.import_module(f"fitcheck.mechanics.{name}")).values()
    if inspect.isfunction(function)
    and function.__module__ == f"fitcheck.mechanics.{name}"
    and not function.__name__.startswith("_")
    and name not in WITHOUT_SOURCE
    and function.__name__ not in {"dwell", "there_and_back", "job_lines"}
]


def test_all_modules_are_seen() -> None:
    assert {"axis", "demand", "grip", "preload", "dynamics", "bench"} <= set(NAMES)
    assert len(FORMULAS) > 60


@pytest.mark.parametrize("function", FORMULAS)
def test_the_source_and_its_mark_are_given(function: Callable[..., object]) -> None:
    doc = inspect.getdoc(function) or ""
    assert "\nSource: " in doc
    source = doc.split("\nSource: ")[1]
    assert any(mark in source for mark in MARKS), source


@pytest.mark.parametrize("function", FORMULAS)
def test_the_errors_are_given(function: Callable[..., object]) -> None:
    assert "\nRaises:\n    " in (inspect.getdoc(function) or "")


@pytest.mark.parametrize("function", FORMULAS)
def test_documented_arguments_are_the_signature(function: Callable[..., object]) -> None:
    doc = inspect.getdoc(function) or ""
    if "\nArgs:" not in doc:
        return
    block = re.split(r"\n(?=\S)", doc.split("\nArgs:\n")[1])[0]
    documented = re.findall(r"^    (\w+): ", block, re.MULTILINE)
    assert documented == list(inspect.signature(function).parameters)


def test_importing_the_formulas_loads_neither_numpy_nor_the_kernel() -> None:
    imports = "; ".join(f"import fitcheck.mechanics.{name}" for name in NAMES)
    code = f"import sys; {imports}; print(sorted({{'numpy', 'OCP'}} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "[]"
