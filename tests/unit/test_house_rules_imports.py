"""The import contract holds and can fail; light starts load no CAD kernel, whatever the contract can see."""

from __future__ import annotations

import pkgutil
import shutil
import subprocess
import sys
import sysconfig
import tomllib
from pathlib import Path

import pytest

import fitcheck

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("OCP", "cadquery", "vtkmodules")
JOB = "sample_assemblies/passing/z-passes.fit.yaml"
FRESH = """
import sys
{code}
print(*sorted(name for name in {heavy!r} if name in sys.modules))
"""


def contracts() -> list[dict[str, object]]:
    with (ROOT / "pyproject.toml").open("rb") as stream:
        return tomllib.load(stream)["tool"]["importlinter"]["contracts"]


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """The contract of the tree, held against the packages in a folder."""
    command = Path(sysconfig.get_path("scripts")) / "lint-imports"
    return subprocess.run(
        [str(command), "--no-cache", "--config", str(folder / "pyproject.toml")],
        cwd=folder, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


@pytest.fixture
def copied(tmp_path):
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for package in ("fitcheck", "parametric_models"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__", "data"))
    return tmp_path


def test_the_contract_holds(copied):
    done = lint(copied)
    assert done.returncode == 0, done.stdout
    assert "0 broken" in done.stdout


@pytest.mark.parametrize(
    ("module", "line", "broken"),
    [
        ("fitcheck/checks/insertion.py", "def late() -> None:\n    import OCP.gp", "Only the kernel room"),
        ("fitcheck/measurement/measure.py", "from fitcheck.kernel import session", "Only the kernel room"),
        ("fitcheck/measurement/model.py", "from fitcheck.checks import finding", "Rooms import only"),
        ("fitcheck/job/model.py", "from fitcheck.measurement import model", "Rooms import only"),
        ("fitcheck/report/text.py", "import parametric_models", "The checker does without"),
        ("parametric_models/machines.py", "import fitcheck.checks.run", "The generators know"),
    ],
)
def test_the_contract_can_fail(copied, module, line, broken):
    with (copied / module).open("a") as stream:
        stream.write(f"\n\n{line}\n")
    done = lint(copied)
    assert done.returncode == 1, done.stdout
    assert "1 broken" in done.stdout or "2 broken" in done.stdout
    verdicts = [text for text in done.stdout.splitlines() if text.endswith("BROKEN") or " BROKEN (" in text]
    assert broken in " ".join(verdicts) or broken in done.stdout.split("Broken contracts")[1]


def test_no_room_is_left_out_of_the_contract():
    rooms = {f"fitcheck.{module.name}" for module in pkgutil.iter_modules(fitcheck.__path__)}
    kernel, layers, *_ = contracts()
    owners = {f"fitcheck.kernel.{name}" for name in ("client", "process", "protocol", "watch", "wording")}
    assert set(kernel["source_modules"]) - owners == rooms - {"fitcheck.kernel"}
    layered = {name.strip() for layer in layers["layers"] for name in layer.split("|")}
    assert layered == rooms


@pytest.mark.parametrize(
    "code",
    [
        "import fitcheck",
        "import fitcheck\nfitcheck.check, fitcheck.measure, fitcheck.Result, fitcheck.load_job",
        "from fitcheck.cli import main\nassert main(['--help']) == 0",
        "from fitcheck.cli import main\nassert main(['check', '--help']) == 0",
        "from fitcheck.cli import main\nassert main(['--version']) == 0",
        "from fitcheck.cli import main\nassert main(['schema']) == 0",
        f"import fitcheck\nassert fitcheck.load_job({JOB!r}).job.title",
        "from fitcheck.cli import main\nassert main(['check', 'no-such.fit.yaml']) == 2",
        # The whole command too: only its worker has the kernel.
        f"from fitcheck.cli import main\nassert main(['check', {JOB!r}]) == 0",
    ],
)
def test_this_process_never_loads_the_cad_kernel(code):
    done = subprocess.run(
        [sys.executable, "-c", FRESH.format(code=code, heavy=HEAVY)],
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == ""


def test_a_loaded_kernel_would_be_noticed():
    done = subprocess.run(
        [sys.executable, "-c", FRESH.format(code="import fitcheck.kernel.session", heavy=HEAVY)],
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    assert "OCP" in done.stdout.split()
