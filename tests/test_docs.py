"""README.md and DEVELOPERS.md say what the program does: generated parts, commands, examples, links."""

from __future__ import annotations

import contextlib
import importlib.util
import io
import re
import shlex
import struct
import sys
from pathlib import Path
from types import ModuleType

import pytest
import yaml

import fitcheck
from fitcheck.checks.run import CHECKS, NAMES
from fitcheck.cli.parser import build_parser
from fitcheck.job.load import parse_job
from fitcheck.report.cautions import CAUTIONS

ROOT = Path(__file__).resolve().parents[1]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = ("README.md", "DEVELOPERS.md", "sample_assemblies/README.md")


def script(path: str) -> ModuleType:
    """A script of the tree as a module."""
    spec = importlib.util.spec_from_file_location(Path(path).stem, ROOT / path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


parts = script("tests/readme_parts.py")


def blocks(language: str, text: str = TEXT) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.DOTALL | re.MULTILINE)


def part(name: str) -> str:
    found = re.findall(rf"<!-- part {name} -->\n(.*?)<!-- end -->", TEXT, re.DOTALL)
    assert len(found) == 1, f"README has {len(found)} parts {name}"
    return found[0]


@pytest.mark.parametrize("name", sorted(parts.PARTS))
def test_generated_parts_are_in_step(name):
    assert part(name) == parts.PARTS[name](), "run: python tests/readme_parts.py"


def test_a_part_out_of_step_is_put_right():
    old = "a\n<!-- part checks -->\nold\n<!-- end -->\nb"
    assert parts.current(old) == f"a\n<!-- part checks -->\n{parts.PARTS['checks']()}<!-- end -->\nb"
    with pytest.raises(KeyError, match="nothing"):
        parts.current("<!-- part nothing -->\n<!-- end -->")


def test_every_command_and_option_is_documented_and_helped():
    top = build_parser()
    documented = part("commands")
    shared = documented.split("### Options of measuring")[1]
    for name, parser in parts.parsers().items():
        assert f"### `fitcheck {name}`" in documented
        section = documented.split(f"### `fitcheck {name}`")[1].split("\n### ")[0]
        if "(#options-of-measuring)" in section:
            section += shared
        for action in parser._actions:
            assert action.help, f"fitcheck {name} {action.dest} has no help"
            for option in action.option_strings:
                assert option in ("-h", "--help") or re.search(rf"`{option}[` ]", section), f"{name} {option}"
        assert parts.examples(parser), f"the help of fitcheck {name} has no example"
    prose = TEXT.replace(documented, "")
    for action in top._actions:
        for option in action.option_strings:
            assert option in ("-h",) or option in prose, option


def command_lines() -> list[str]:
    shell = "\n".join(blocks("sh") + blocks("console") + blocks("yaml"))
    found = re.findall(r"(?:^|[\s/])fitcheck ((?:[a-z]+) [^#\n]+)", shell)
    inline = re.findall(r"`fitcheck ((?:init|measure|check|schema) [^`]+)`", TEXT)
    return found + inline


def test_the_readme_shows_every_command():
    assert {line.split()[0] for line in command_lines()} >= set(parts.parsers())


@pytest.mark.parametrize("line", command_lines())
def test_every_command_line_of_the_readme_parses(line):
    build_parser().parse_args(shlex.split(line))


def test_a_wrong_command_line_would_be_noticed(capsys):
    with pytest.raises(SystemExit):
        build_parser().parse_args(shlex.split("check . --fromat json"))
    assert "--fromat" in capsys.readouterr().err


def test_the_job_of_the_readme_is_a_job(tmp_path):
    (text,) = [block for block in blocks("yaml") if block.startswith("step:")]
    (tmp_path / "z-adapter.step").write_text("ISO-10303-21;")
    job = parse_job(text, str(tmp_path / "z.fit.yaml"), str(tmp_path)).job
    assert job.coupling.length == pytest.approx(1.575 * 25.4)
    assert job.require.radial_clearance == 0.5


def test_the_python_of_the_readme_runs(monkeypatch):
    (text,) = blocks("python")
    monkeypatch.chdir(ROOT)
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        exec(compile(text, "README.md", "exec"), {})
    # Pilots and least free radius as the sample's job file works them out.
    assert said.getvalue().splitlines()[0] == "15.0 [38.13, 36.03]"
    assert said.getvalue().splitlines()[1].startswith("radial-clearance -0.557")
    assert said.getvalue().splitlines()[-1] == "0 fitcheck.result/1"


def test_ci_examples_are_yaml_and_name_real_hooks():
    pages = [yaml.safe_load(block) for block in blocks("yaml")]
    assert len(pages) == 4
    (hooks,) = [page["repos"][0] for page in pages if "repos" in page]
    offered = {hook["id"]: hook for hook in yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text())}
    assert {hook["id"] for hook in hooks["hooks"]} <= set(offered)
    assert all(f"`{name}`" in TEXT for name in offered)
    assert hooks["rev"] == f"v{fitcheck.__version__}"
    for hook in offered.values():
        # Not `python -m fitcheck`, which runs a fitcheck.py that lies in the folder of the jobs.
        assert shlex.split(hook["entry"])[0] == "fitcheck"
        build_parser().parse_args(shlex.split(hook["entry"])[1:] + ([] if "." in hook["entry"] else ["a.fit.yaml"]))


@pytest.mark.parametrize(
    ("hook", "file", "wanted"),
    [
        ("fitcheck", "jobs/z.fit.yaml", True),
        ("fitcheck", "jobs/Z.FIT.YAML", True),
        ("fitcheck", "z.yaml", False),
        ("fitcheck", "fit.yaml", False),
        ("fitcheck", "z.fit.yaml.orig", False),
        ("fitcheck", "z.step", False),
        ("fitcheck-all", "z.step", True),
        ("fitcheck-all", "Z.STP", True),
        ("fitcheck-all", "z.fit.yaml", True),
        ("fitcheck-all", "z.step.txt", False),
        ("fitcheck-all", "footstep", False),
    ],
)
def test_hooks_match_the_files_they_are_for(hook, file, wanted):
    offered = {one["id"]: one for one in yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text())}
    assert bool(re.search(offered[hook]["files"], file)) is wanted


def test_ci_runs_the_two_commands_of_the_readme():
    start = TEXT.split("## Start")[1].split("### System libraries")[0]
    first, second = blocks("sh", start)
    ci = (ROOT / ".ci/run").read_text()
    assert f"'{first.strip()}'" in ci
    assert f"'{second.strip()}'" in ci


def anchors(page: str) -> set[str]:
    text = re.sub(r"^```.*?^```", "", page, flags=re.DOTALL | re.MULTILINE)
    heads = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head).strip().lower().replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES)
def test_links_resolve(page):
    text = re.sub(r"^```.*?^```", "", (ROOT / page).read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if target.startswith("https://"):
            continue
        path, _, anchor = target.partition("#")
        file = (ROOT / page).parent / path if path else ROOT / page
        assert file.exists(), f"{page} links to {target}"
        if anchor:
            assert anchor in anchors(file.read_text(encoding="utf-8")), f"{page} links to {target}"


def test_every_check_every_public_function_and_all_cautions_are_in_the_readme():
    for name in NAMES:
        assert name in parts.MUST_HOLD, f"describe {name} in tests/readme_parts.py"
        assert (f"| `{name}` |" in part("checks")) is (name in CHECKS), name
        assert (f"| `{name}` |" in part("work-checks")) is (name not in CHECKS), name
    for name in fitcheck.__all__:
        if name[0].islower() or name.endswith("Error"):
            assert re.search(rf"\b{name}\b", TEXT), name
    cautions = TEXT.split("## Cautions")[1]
    for caution in CAUTIONS:
        # The first half of each is said word by word; the README says some more.
        assert " ".join(re.split(r"[:;]", caution)[0].rstrip(".").split()) in " ".join(cautions.split())


def test_the_readme_calls_nothing_safe():
    for sentence in re.split(r"(?<=[.:])\s", TEXT):
        if re.search(r"\bsafe\b", sentence):
            assert "does not make" in sentence


def outlines(drawing: str) -> list[list[tuple[float, float]]]:
    """The polygons of a drawing, without points that repeat or lie on the line between their neighbours."""
    found = []
    for text in re.findall(r'points="([^"]*)"', drawing):
        kept: list[tuple[float, float]] = []
        for pair in text.split():
            x, y = map(float, pair.split(","))
            while len(kept) > 1 and abs(cross(kept[-2], kept[-1], (x, y))) < 0.05:
                kept.pop()
            if not kept or (x, y) != kept[-1]:
                kept.append((x, y))
        found.append(kept)
    return found


def cross(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def test_the_sections_are_what_the_program_draws():
    pictures = script("sample_assemblies/pictures.py")
    for path in pictures.SECTIONS:
        drawn = pictures.section(fitcheck.check(ROOT / f"sample_assemblies/{path}.fit.yaml"))
        committed = (ROOT / f"sample_assemblies/pictures/{Path(path).name}-section.svg").read_text(encoding="utf-8")
        again = "run: python sample_assemblies/pictures.py"
        assert re.sub(r'points="[^"]*"', "", committed) == re.sub(r'points="[^"]*"', "", drawn), again
        assert outlines(committed) == outlines(drawn), again
    for view in pictures.VIEWS:
        head = (ROOT / f"sample_assemblies/pictures/{Path(view.path).name}.png").read_bytes()[:24]
        assert head.startswith(b"\x89PNG\r\n")
        assert struct.unpack(">II", head[16:]) == pictures.SIZE


def test_outlines_see_a_moved_corner_and_no_added_point():
    square = '<polygon points="0,0 4,0 4,4 0,4"/>'
    assert outlines('<polygon points="0,0 2,0 2,0 4,0 4,4 0,4"/>') == outlines(square)
    assert outlines('<polygon points="0,0 4,0 4,4.1 0,4"/>') != outlines(square)
