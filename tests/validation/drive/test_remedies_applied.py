"""Every remedy printed for a failing sample is read from the text, applied to the job or the model, and holds.

Independent of the code that makes the remedies: a job's numbers are changed by hand; an opening is cut by the CAD
kernel into the sample's adapter, which is written as STEP, read and measured anew.
"""

import importlib.util
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

import fitcheck
from fitcheck.checks.run import CHECKS
from fitcheck.job.load import load_job
from parametric_models.adapters import Window, housing
from parametric_models.step_files import write_step

ROOT = Path(__file__).parents[3]
FAILING = ROOT / "sample_assemblies" / "failing"
EDGE = re.compile(r"widen the opening by ([\d.]+) mm towards the (motor|actuator)")
HOLE = re.compile(
    r"a round hole of ([\d.]+) mm in line with the screw \(station ([\d.]+) mm, ([\d.]+) mm beside the drive axis "
    r"towards greater shaft angles, in the direction ([\d.]+)°\)"
)
SWEPT = re.compile(r"largest swept diameter that fits and goes in: ([\d.]+) mm")
SAMPLES = sorted(path.name.removesuffix(".fit.yaml") for path in FAILING.glob("*.fit.yaml"))
BY_HAND = {"x-pilot-shifted": "another adapter", "z-hub-slips": "another clamp"}
"""Samples whose remedy is told in words alone: what it asks for is no number of the job."""


def script(path):
    spec = importlib.util.spec_from_file_location(path.stem, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


applied = script(ROOT / "tests" / "unit" / "checks" / "test_remedies.py").applied
samples = script(ROOT / "sample_assemblies" / "regenerate.py")


def checked(loaded, kernel):
    found = fitcheck.check(loaded, kernel=kernel)
    assert found.error is None, found.error
    return found.findings


def failing(findings):
    return {(f.check, f.subject) for f in findings if f.status == "fail"}


HEADS = {"M3": 5.68, "M4": 7.22}
"""Greatest diameter of a knurled head, mm (ISO 4762)."""


def with_swept_diameter(loaded, diameter):
    """The job's coupling no thicker than `diameter`: its outside diameter, and its heads brought nearer to the axis.

    A head's corner lies `head_end` out and half its diameter beyond the screw's offset aside.
    """
    coupling = loaded.job.coupling
    hubs = coupling.hubs
    for side in ("motor", "actuator"):
        hub = getattr(hubs, side)
        screws = []
        for screw in hub.screws:
            aside = abs(screw.offset) + HEADS[screw.size] / 2
            most = math.sqrt((diameter / 2) ** 2 - aside**2) - 1e-6
            screws.append(replace(screw, head_end=min(screw.head_end, most)))
        hubs = replace(hubs, **{side: replace(hub, screws=tuple(screws))})
    thin = replace(coupling, outside_diameter=min(coupling.outside_diameter, diameter), hubs=hubs)
    return replace(loaded, job=replace(loaded.job, coupling=thin))


@pytest.mark.parametrize("name", SAMPLES)
def test_remedies_that_change_the_job_hold_when_applied(kernel, name):
    loaded = load_job(str(FAILING / f"{name}.fit.yaml"))
    before = checked(loaded, kernel)
    tried = 0
    for finding in before:
        if finding.status != "fail" or finding.check not in CHECKS:
            continue
        changes = list(applied(loaded, finding.remedy))
        if found := SWEPT.search(finding.remedy):
            changes.append((finding.remedy, with_swept_diameter(loaded, float(found[1]))))
        for text, changed in changes:
            after = failing(checked(changed, kernel))
            assert (finding.check, finding.subject) not in after, text
            assert after <= failing(before), text
            tried += 1
    assert tried or name in BY_HAND or name == "x-window-misses-screw"


@pytest.fixture(scope="module")
def window_sample(kernel):
    loaded = load_job(str(FAILING / "x-window-misses-screw.fit.yaml"))
    return loaded, {f.subject: f for f in checked(loaded, kernel) if f.status == "fail"}


def cut_anew(loaded, kernel, folder, windows):
    """The sample's adapter with other windows, by the CAD kernel, written and measured again."""
    path = folder / "cut.step"
    write_step(path, samples.along_x(housing(replace(samples.X_ADAPTER, windows=windows))))
    found = checked(replace(loaded, step_path=str(path)), kernel)
    return {f.subject: f.status for f in found if f.check == "wrench-access"}


def test_a_windows_edge_moved_in_the_model_lets_the_key_in(kernel, window_sample, tmp_path):
    loaded, found = window_sample
    assert set(found) == {"motor hub screw 1", "actuator hub screw 1"}
    window = samples.x_window(31.0)
    for subject, finding in found.items():
        amount, side = EDGE.search(finding.remedy).groups()
        assert subject.startswith(side)

        def widened(by, side=side):
            shift = -by / 2 if side == "motor" else by / 2
            return replace(window, length=window.length + by, station=window.station + shift)

        # The key of an M4 screw is 3 mm, 3.464 over its corners: from the edge, 6.5 mm off the middle at 31, to 1.732
        # beyond the screw at 15.5 (46.5) are 10.732 mm.
        assert float(amount) == pytest.approx(math.ceil(10 * (31.0 - 6.5 - 15.5 + 1.732)) / 10)
        assert cut_anew(loaded, kernel, tmp_path, (widened(float(amount)),))[subject] == "pass"
        assert cut_anew(loaded, kernel, tmp_path, (widened(float(amount) - 0.1),))[subject] == "fail"


def test_a_round_hole_drilled_in_the_model_lets_the_key_in(kernel, window_sample, tmp_path):
    loaded, found = window_sample
    frame = fitcheck.measure(loaded.step_path, kernel=kernel).drive_axis
    for subject, finding in found.items():
        diameter, station, beside, direction = map(float, HOLE.search(finding.remedy).groups())
        # The model's own x direction lies along the file's -z, its y along y (`along_x`).
        turned = math.degrees(math.atan2(frame.across[1], -frame.across[2]))

        def drilled(size, station=station, direction=direction, beside=beside, turned=turned):
            hole = Window(
                station=station, length=size, width=size, angle=direction + turned, offset=beside, shape="round"
            )
            return (samples.x_window(31.0), hole)

        assert cut_anew(loaded, kernel, tmp_path, drilled(diameter))[subject] == "pass"
        assert cut_anew(loaded, kernel, tmp_path, drilled(diameter - 0.25))[subject] == "fail"
