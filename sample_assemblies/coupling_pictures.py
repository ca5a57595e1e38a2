"""Draws a picture of each coupling family: `python sample_assemblies/coupling_pictures.py [--into FOLDER] [FAMILY...]`.

Off-screen (OpenGL by EGL or OSMesa is enough); the same renderer draws the same picture again. The couplings are the
generators' own, by outside diameter and bores alone. Everything shown is invented.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cadquery as cq
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - registers the renderer
from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
from vtkmodules.vtkImagingCore import vtkImageShrink3D
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkWindowToImageFilter,
)

from fitcheck.job.model import FAMILIES
from parametric_models.couplings import build

HERE = Path(__file__).resolve().parent
OUTSIDE_DIAMETER = 34.0
BORES = (8.0, 12.0)
SIZE = (420, 320)
FINER = 2
"""The picture is drawn so many times larger and then averaged, which smooths its edges on any renderer."""
LINE = (0.12, 0.13, 0.15)
DEFLECTION, ANGLE = 0.02, 0.15


def actors(body: build.Body) -> list[vtkActor]:
    """A body's faces in its colour, and its edges as dark lines."""
    shape: cq.Shape = body.shape
    normals = vtkPolyDataNormals()
    normals.SetInputData(shape.toVtkPolyData(DEFLECTION, ANGLE, True))
    normals.SetFeatureAngle(20.0)
    normals.ComputePointNormalsOn()
    faces = vtkPolyDataMapper()
    faces.SetInputConnection(normals.GetOutputPort())
    edges = vtkPolyDataMapper()
    edges.SetInputData(cq.Compound.makeCompound(shape.Edges()).toVtkPolyData(DEFLECTION, ANGLE, False))
    found = []
    for mapper, colour in ((faces, body.colour), (edges, LINE)):
        mapper.ScalarVisibilityOff()
        made = vtkActor()
        made.SetMapper(mapper)
        look = made.GetProperty()
        look.SetColor(*colour)
        look.SetInterpolationToPhong()
        look.SetAmbient(0.30)
        look.SetDiffuse(0.70)
        look.SetSpecular(0.12)
        look.SetSpecularPower(20.0)
        found.append(made)
    found[1].GetProperty().SetLineWidth(1.2 * FINER)
    found[1].GetProperty().LightingOff()
    faces.SetResolveCoincidentTopologyToPolygonOffset()
    return found


def draw(family: str, target: Path) -> None:
    """Draw a family's coupling into a PNG file; the motor hub is in front, on the right."""
    coupling = build.coupling(family, outside_diameter=OUTSIDE_DIAMETER, bores=BORES)
    renderer = vtkRenderer()
    renderer.SetBackground(1.0, 1.0, 1.0)
    for body in build.detailed(coupling):
        for actor in actors(body):
            renderer.AddActor(actor)
    renderer.RemoveAllLights()
    for direction, strength in (((-0.5, 1.0, 0.9), 0.85), ((0.9, 0.3, 0.4), 0.35)):
        light = vtkLight()
        light.SetLightTypeToCameraLight()
        light.SetPosition(*direction)
        light.SetFocalPoint(0.0, 0.0, 0.0)
        light.SetIntensity(strength)
        renderer.AddLight(light)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(0)
    window.SetSize(SIZE[0] * FINER, SIZE[1] * FINER)
    window.AddRenderer(renderer)
    camera = renderer.GetActiveCamera()
    middle = coupling.length / 2
    camera.SetFocalPoint(0.0, 0.0, middle)
    # from the motor's side, above, with x of the coupling (where its screws point) towards the eye
    camera.SetPosition(200.0, 110.0, middle - 150.0)
    camera.SetViewUp(0.0, 1.0, 0.0)
    camera.ParallelProjectionOn()
    camera.SetParallelScale(
        0.56 * max(OUTSIDE_DIAMETER * 1.15, 0.75 * (coupling.length * 0.8 + OUTSIDE_DIAMETER * 0.6))
    )
    renderer.ResetCameraClippingRange()
    window.Render()
    grabbed = vtkWindowToImageFilter()
    grabbed.SetInput(window)
    grabbed.SetInputBufferTypeToRGB()
    shrunk = vtkImageShrink3D()
    shrunk.SetInputConnection(grabbed.GetOutputPort())
    shrunk.SetShrinkFactors(FINER, FINER, 1)
    shrunk.AveragingOn()
    writer = vtkPNGWriter()
    writer.SetFileName(str(target))
    writer.SetCompressionLevel(9)
    writer.SetInputConnection(shrunk.GetOutputPort())
    writer.Write()


def main(into: Path, families: list[str]) -> None:
    unknown = [family for family in families if family not in FAMILIES]
    if unknown:
        raise SystemExit(f"no family is called {', '.join(unknown)}; there are {', '.join(FAMILIES)}")
    into.mkdir(parents=True, exist_ok=True)
    for family in families or FAMILIES:
        draw(family, into / f"{family.replace(' ', '-')}.png")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Draw a picture of each coupling family again.")
    parser.add_argument("families", nargs="*", metavar="FAMILY", help="families to draw; all of them without one")
    parser.add_argument("--into", type=Path, default=HERE / "pictures" / "couplings", help="folder to write to")
    arguments = parser.parse_args()
    main(arguments.into, arguments.families)
