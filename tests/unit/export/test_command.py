"""The command `envelope` as users meet it: what it refuses, what it says, and what it leaves on the disk."""

import os
import shutil

import pytest

from fitcheck.cli import main
from fitcheck.errors import FitcheckError, UsageError
from fitcheck.export.generators import Generators
from fitcheck.export.target import TargetError, ending_of, whole

DISC = ["envelope", "--family", "disc", "--outside-diameter", "34", "--bores", "8", "12"]


def refused(capsys, arguments, code=2):
    assert main(arguments) == code
    captured = capsys.readouterr()
    assert captured.out == ""
    return captured.err


def test_it_says_what_it_wrote(tmp_path, capsys):
    out = tmp_path / "disc.step"
    assert main([*DISC, "--detail", "-o", str(out)]) == 0
    captured = capsys.readouterr()
    assert captured.out == ""
    assert f"wrote {out}: length 37.480 mm, swept diameter 34.000 mm, mass " in captured.err
    assert "inertia about the drive axis" in captured.err
    assert captured.err.rstrip().endswith("the file's unit is mm")


def test_a_file_that_exists_is_kept_unless_forced(tmp_path, capsys):
    out = tmp_path / "disc.dxf"
    out.write_text("mine", encoding="utf-8")
    assert f"{out}: exists already" in refused(capsys, [*DISC, "-o", str(out)])
    assert out.read_text(encoding="utf-8") == "mine"
    assert main([*DISC, "-o", str(out), "--force"]) == 0
    assert out.read_text(encoding="ascii").startswith("999")


def test_a_file_that_comes_into_being_meanwhile_is_kept(tmp_path):
    target = tmp_path / "x.step"

    def written_while_somebody_else_writes():
        with whole(str(target), force=False) as spare:
            open(spare, "w").close()
            target.write_text("theirs", encoding="utf-8")

    with pytest.raises(UsageError, match="exists already"):
        written_while_somebody_else_writes()
    assert target.read_text(encoding="utf-8") == "theirs"
    assert list(tmp_path.iterdir()) == [target]


def test_after_a_failure_nothing_is_left(tmp_path, capsys):
    out = tmp_path / "x.step"
    said = refused(
        capsys, ["envelope", "--family", "jaw", "--outside-diameter", "10", "--bores", "9", "9", "-o", str(out)]
    )
    assert "motor hub: bore 9 cannot be built; 0.1 to 5.2 works" in said
    assert list(tmp_path.iterdir()) == []


def test_a_link_is_followed_and_the_mode_is_that_of_any_file(tmp_path):
    real, link = tmp_path / "real.dxf", tmp_path / "link.dxf"
    real.write_text("old", encoding="utf-8")
    link.symlink_to(real)
    assert main([*DISC, "-o", str(link), "--force"]) == 0
    assert link.is_symlink()
    assert real.read_text(encoding="ascii").startswith("999")
    other = tmp_path / "other.dxf"
    assert main([*DISC, "-o", str(other)]) == 0
    mask = os.umask(0)
    os.umask(mask)
    assert other.stat().st_mode & 0o777 == 0o666 & ~mask


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([*DISC, "-o", "x.iges"], "the ending .iges names no kind of file"),
        ([*DISC, "-o", "x"], "no ending names no kind of file"),
        ([*DISC, "-o", "x.dxf", "--detail"], "a DXF file shows the profile alone; leave out --detail"),
        ([*DISC, "-o", "x.step", "--with-adapter"], "need a job file"),
        (["envelope", "--family", "disc", "-o", "x.step"], "--outside-diameter, --bores is missing"),
        ([*DISC[:3], *DISC[3:], "--set", "thickness", "-o", "x.step"], "needed is NAME=VALUE"),
        ([*DISC, "--set", "thickness=3", "-o", "x.step"], "no dimension is called thickness"),
        (["envelope", "--family", "gear", *DISC[3:], "-o", "x.step"], "coupling family 'gear' is unknown"),
        ([*DISC[:4], "34 Nm", *DISC[5:], "-o", "x.step"], "34 Nm"),
        (["envelope", "none.fit.yaml", "-o", "x.step"], "there is no such file"),
        (["envelope", "none.fit.yaml", "--family", "disc", "-o", "x.step"], "--family is for a coupling without a job"),
        (["envelope", "none.fit.yaml", "--set", "cuts=2", "-o", "x.step"], "add --detail"),
    ],
)  # fmt: skip
def test_wrong_usage_is_told(tmp_path, monkeypatch, capsys, arguments, words):
    monkeypatch.chdir(tmp_path)
    assert words in refused(capsys, arguments)
    assert list(tmp_path.iterdir()) == []


def test_dimensions_may_carry_units_and_hubs_their_own(tmp_path, capsys):
    out = tmp_path / "x.dxf"
    arguments = ["envelope", "--family", "rigid", "--outside-diameter", "1 in", "--bores", "0.25 in", "8"]
    assert main([*arguments, "--length", "40", "--set", "motor.chamfer=0.02 in", "-o", str(out)]) == 0
    assert "length 40.000 mm, swept diameter 25.400 mm" in capsys.readouterr().err


def test_a_job_whose_place_is_not_known_is_undecided(job_file, tmp_path, capsys):
    job = job_file("passing/z-passes")
    kept = [line for line in job.read_text(encoding="utf-8").splitlines() if not line.strip().startswith("shaft:")]
    job.write_text("\n".join(kept), encoding="utf-8")
    said = refused(capsys, ["envelope", str(job), "-o", str(tmp_path / "x.step")], code=3)
    assert "cannot be centred between the shaft ends" in said
    assert "place.motor_hub_face" in said


def test_a_detail_that_cannot_be_built_says_what_to_do(job_file, tmp_path, capsys):
    arguments = ["envelope", str(job_file("passing/z-passes")), "--detail", "-o", str(tmp_path / "x.step")]
    said = refused(capsys, [*arguments, "--set", "cuts=9"])
    assert "double slit coupling: length 40 cannot be built" in said
    assert "give dimensions that the job does not say with --set NAME=VALUE, or leave out --detail" in said
    assert main([*arguments, "--set", "cuts=2"]) == 0


def test_the_output_may_not_be_an_input(job_file, capsys):
    job = job_file("passing/z-passes")
    step = job.with_name("z-passes.step")
    before = step.read_bytes()
    said = refused(capsys, ["envelope", str(job), "-o", str(step), "--force"])
    assert "would overwrite what is to be read" in said
    assert step.read_bytes() == before


def test_a_process_that_ends_or_takes_too_long_is_told(monkeypatch):
    with Generators(time_limit=0.0) as slow:
        slow.start(solids=True)
        with pytest.raises(FitcheckError, match=r"making x\.step took longer than 0 s and was stopped"):
            slow.ask({"title": "x.step"})
    with Generators() as broken:
        monkeypatch.setattr("sys.executable", shutil.which("false"))
        broken.start(solids=False)
        with pytest.raises(FitcheckError, match=r"process ended while making x\.step \(exit code 1\)"):
            broken.ask({"title": "x.step"})


def test_endings_are_told_whatever_their_case():
    assert [ending_of(f"a.b{ending}") for ending in (".STEP", ".stp", ".Stl")] == ["step", "step", "stl"]


def test_a_folder_that_refuses_is_told(tmp_path):
    with (
        pytest.raises(TargetError, match="could not be written: No such file"),
        whole(str(tmp_path / "gone" / "x.step"), force=False),
    ):
        pass
