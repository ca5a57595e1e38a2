"""Makes the pictures of the README from real results: `python sample_assemblies/pictures.py [--into FOLDER]`.

The sections are the drawings of the HTML report. The views are the samples' STEP files, cut open, with the coupling of
the job where the check places it, and a red ball at every place that a finding fails at. Views need a renderer
(OpenGL by EGL or OSMesa is enough, no screen). Everything shown is invented.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - registers the renderer
from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
from vtkmodules.vtkFiltersSources import vtkSphereSource
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkWindowToImageFilter,
)

import fitcheck
from fitcheck.checks.drive import drive_of
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.html import check_html
from parametric_models.couplings import build
from parametric_models.couplings.from_job import coupling_of_job

HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class View:
    """How a sample is shown: the half on the +y side of the drive axis is cut away, and seen from there.

    `turn` is the shaft angle that the coupling is turned to, degrees; `above` how far the eye stands above the axis (or
    below it) for every 1 to the side; `middle` the station in the middle of the picture, `half` half its height, mm.
    """

    path: str
    turn: float
    above: float
    middle: float
    half: float


SECTIONS = ("passing/z-passes", "failing/z-screw-head-rubs")
VIEWS = (
    View("passing/z-full-assembly", turn=0.0, above=0.35, middle=32.0, half=52.0),
    # Turned so that the head's outer corner, 42 degrees beside the screw's direction, meets the place of the finding.
    View("failing/z-screw-head-rubs", turn=138.0, above=-0.35, middle=29.0, half=40.0),
)
SIZE = (1000, 640)
DRAWN = ("material", "shaft", "coupling", "axis", "seat")
COLOURS = {"adapter": (0.72, 0.74, 0.78), "motor": (0.38, 0.42, 0.47), "actuator": (0.55, 0.52, 0.44)}
SHAFT = (0.86, 0.80, 0.62)
RED = (0.85, 0.1, 0.1)
BALL = 1.4
CUTS = {"cuts": 2, "cut_width": 0.8, "pitch": 2.4, "rigid_length": 3.0}
"""What the jobs do not say of the double slit coupling: narrower cuts than usual, so that two groups find room."""

Rgb = tuple[float, float, float]


def section(result: JobResult) -> str:
    """The HTML report's drawing as an SVG file of its own: a white ground, and the rules that it uses."""
    page = check_html(Result(jobs=(result,)))
    drawing = re.search(r"<svg (viewBox=\"0 0 (\S+) (\S+)\".*?)</svg>", page, re.DOTALL)
    assert drawing is not None, f"{result.name}: the report has no section"
    rules = re.findall(rf"(?:svg text|\.(?:{'|'.join(DRAWN)}))\{{[^}}]*\}}", page)
    head, body = drawing[1].split(">", 1)
    wide, high = drawing[2], drawing[3]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" {head}><style>{"".join(rules)}'
        f'svg text{{font-family:sans-serif}}</style><rect width="{wide}" height="{high}" fill="#fff"/>{body}</svg>\n'
    )


def scene(view: View, result: JobResult) -> Iterator[tuple[cq.Shape, Rgb]]:
    """The shapes of a sample with their colours: bodies by role, cut open, and the coupling in place."""
    loaded, measurement = result.loaded, result.measurement
    assert loaded is not None
    assert measurement is not None
    plane = axis_plane(result)
    opening = cq.Workplane(plane).box(400, 400, 800, centered=(True, False, True)).val()
    for solid in cq.importers.importStep(str(HERE / f"{view.path}.step")).solids().vals():
        volume = solid.Volume()
        body = min(measurement.bodies, key=lambda other: abs(other.volume - volume))
        if "shaft" in body.name:
            yield solid, SHAFT
        else:
            yield solid.cut(opening), COLOURS.get(body.role, COLOURS["adapter"])
    drive = drive_of(loaded, measurement)
    assert drive.placed is not None
    hub_face = cq.Plane(plane.origin + plane.zDir * drive.placed.start, xDir=plane.xDir, normal=plane.zDir)
    place = cq.Location(hub_face) * cq.Location((0, 0, 0), (0, 0, 1), view.turn)
    for part in build.detailed(coupling_of_job(loaded.job.coupling, **CUTS)):
        yield part.shape.moved(place), part.colour[:3]


def axis_plane(result: JobResult) -> cq.Plane:
    """Origin at station 0, normal along the drive axis, x at shaft angle 0."""
    assert result.measurement is not None
    axis = result.measurement.drive_axis
    assert axis is not None
    return cq.Plane(origin=axis.origin, xDir=axis.across, normal=axis.direction)


def actor(shape: cq.Shape, colour: Rgb) -> vtkActor:
    normals = vtkPolyDataNormals()
    normals.SetInputData(shape.toVtkPolyData(0.005, 0.02, False))
    normals.SetFeatureAngle(20.0)
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(normals.GetOutputPort())
    return painted(mapper, colour)


def painted(mapper: vtkPolyDataMapper, colour: Rgb) -> vtkActor:
    mapper.ScalarVisibilityOff()
    made = vtkActor()
    made.SetMapper(mapper)
    made.GetProperty().SetColor(*colour)
    made.GetProperty().SetAmbient(0.25)
    made.GetProperty().SetDiffuse(0.75)
    made.GetProperty().SetSpecular(0.15)
    return made


def ball(point: tuple[float, float, float]) -> vtkActor:
    source = vtkSphereSource()
    source.SetCenter(*point)
    source.SetRadius(BALL)
    source.SetThetaResolution(32)
    source.SetPhiResolution(32)
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(source.GetOutputPort())
    return painted(mapper, RED)


def draw(view: View, result: JobResult, target: Path) -> None:
    """Draw a view into a PNG file; the drive axis runs to the right."""
    renderer = vtkRenderer()
    renderer.SetBackground(1.0, 1.0, 1.0)
    for shape, colour in scene(view, result):
        renderer.AddActor(actor(shape, colour))
    for finding in result.findings:
        if finding.status == "fail" and finding.at is not None and finding.at.point is not None:
            renderer.AddActor(ball(finding.at.point))
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(0)
    window.SetSize(*SIZE)
    window.AddRenderer(renderer)
    plane = axis_plane(result)
    camera = renderer.GetActiveCamera()
    camera.SetFocalPoint(*plane.toWorldCoords((0, 0, view.middle)).toTuple())
    camera.SetPosition(*plane.toWorldCoords((500 * view.above, 500, view.middle + 120)).toTuple())
    camera.SetViewUp(*plane.xDir.toTuple())
    camera.ParallelProjectionOn()
    camera.SetParallelScale(view.half)
    renderer.ResetCameraClippingRange()
    renderer.UseFXAAOn()
    window.Render()
    grabbed = vtkWindowToImageFilter()
    grabbed.SetInput(window)
    writer = vtkPNGWriter()
    writer.SetFileName(str(target))
    writer.SetInputConnection(grabbed.GetOutputPort())
    writer.Write()


def main(into: Path) -> None:
    into.mkdir(parents=True, exist_ok=True)
    for path in SECTIONS:
        result = fitcheck.check(HERE / f"{path}.fit.yaml")
        (into / f"{Path(path).name}-section.svg").write_text(section(result), encoding="utf-8")
    for view in VIEWS:
        draw(view, fitcheck.check(HERE / f"{view.path}.fit.yaml"), into / f"{Path(view.path).name}.png")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Make the pictures of the README again.")
    parser.add_argument("--into", type=Path, default=HERE / "pictures", help="folder to write to")
    main(parser.parse_args().into)
