"""Documents of the CAD kernel: an adapter's file as it is, with a coupling added. Lengths mm."""

from __future__ import annotations

import cadquery as cq
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.STEPControl import STEPControl_Controller
from OCP.TCollection import TCollection_ExtendedString
from OCP.TColStd import TColStd_SequenceOfAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from fitcheck.errors import FitcheckError
from parametric_models.step_files import add_model, new_document

_UNITS = {
    "millimetre": "mm", "millimeter": "mm", "mm": "mm", "centimetre": "cm", "centimeter": "cm", "cm": "cm",
    "metre": "m", "meter": "m", "m": "m", "inch": "inch", "in": "inch",
}  # fmt: skip


class Source:
    """A STEP file that was read but not yet turned into shapes.

    Args:
        path: the file.

    Raises:
        FitcheckError: the kernel cannot read it.
    """

    def __init__(self, path: str) -> None:
        self.path = path
        STEPControl_Controller.Init_s()
        Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
        self._reader = STEPCAFControl_Reader()
        for keep in (
            self._reader.SetNameMode, self._reader.SetColorMode, self._reader.SetLayerMode, self._reader.SetPropsMode,
            self._reader.SetMatMode,
        ):  # fmt: skip
            keep(True)
        if self._reader.ReadFile(path) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise FitcheckError(f"{path}: the STEP reader cannot take the file; export it again")

    @property
    def unit(self) -> str:
        """The length unit that the file declares first; mm where it is none of mm, cm, m and inch."""
        lengths, angles, solids = (TColStd_SequenceOfAsciiString() for _ in range(3))
        self._reader.ChangeReader().FileUnits(lengths, angles, solids)
        raw = lengths.Value(1).ToCString().strip().lower() if lengths.Length() else "mm"
        return _UNITS.get(raw, "mm")

    def document(self) -> TDocStd_Document:
        """All that the file holds, in its declared unit's mm."""
        document = new_document()
        if not self._reader.Transfer(document):
            raise FitcheckError(f"{self.path}: none of the file's parts could be turned into shapes; export it again")
        return document


def insert(document: TDocStd_Document, models: list[cq.Assembly], title: str) -> None:
    """Add assemblies to what a document holds, without touching that.

    The only assembly of a document takes them as components; otherwise a new assembly takes them and all there was.

    Args:
        document: may be empty.
        models: the assemblies.
        title: name of the new assembly, where one is needed.
    """
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    before = roots(shapes)
    labels = [add_model(document, _plain(model), model.name) for model in models]
    if not before and len(labels) == 1:
        return
    if len(before) == 1 and XCAFDoc_ShapeTool.IsAssembly_s(before[0]):
        home = before[0]
    else:
        home = shapes.NewShape()
        TDataStd_Name.Set_s(home, TCollection_ExtendedString(title, True))
        for label in before:
            _component(shapes, home, label)
    for label in labels:
        _component(shapes, home, label)
    shapes.UpdateAssemblies()


def _plain(model: cq.Assembly) -> cq.Assembly | cq.Shape:
    """An assembly of one part only, as the part."""
    if model.obj is not None or len(model.children) != 1 or model.children[0].children:
        return model
    return model.children[0]


def _component(shapes: XCAFDoc_ShapeTool, home: TDF_Label, part: TDF_Label) -> None:
    name = TDataStd_Name()
    component = shapes.AddComponent(home, part, TopLoc_Location())
    if part.FindAttribute(TDataStd_Name.GetID_s(), name):
        TDataStd_Name.Set_s(component, name.Get())


def roots(shapes: XCAFDoc_ShapeTool) -> list[TDF_Label]:
    """The products of a document that are part of no other."""
    found = TDF_LabelSequence()
    shapes.GetFreeShapes(found)
    return [found.Value(index) for index in range(1, found.Length() + 1)]
