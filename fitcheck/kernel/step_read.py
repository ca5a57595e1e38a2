"""STEP in: the leaf shapes of a file with their names, in mm and in the file's own frame."""

from __future__ import annotations

import re
from dataclasses import dataclass

from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.gp import gp_Pnt, gp_Trsf
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.Message import Message
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.STEPControl import STEPControl_Controller
from OCP.TCollection import TCollection_ExtendedString
from OCP.TColStd import TColStd_SequenceOfAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_FACE, TopAbs_FORWARD, TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape
from OCP.TopTools import TopTools_IndexedMapOfShape
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from fitcheck.kernel.code_page import code_page

MM_PER = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "ft": 304.8}

_UNIT_NAMES = {
    "millimetre": "mm", "mm": "mm", "inch": "inch", "in": "inch", "centimetre": "cm", "cm": "cm", "metre": "m",
    "meter": "m", "m": "m", "millimeter": "mm", "centimeter": "cm", "foot": "ft", "ft": "ft",
}  # fmt: skip
_NAMELESS = re.compile(r"(?i)^(|solid|compound|shell|shape|part|none|nauo\d*|\d+|=>\[.*\]|open cascade.*)$")


class ReadError(Exception):
    """The file cannot be read; the message is for the user."""


@dataclass(frozen=True, kw_only=True)
class Leaf:
    """One solid, shell or lone face: its shape in mm, its shown name, and all names that it can be called by."""

    shape: TopoDS_Shape
    name: str
    names: tuple[str, ...]
    solid: bool


@dataclass(frozen=True, kw_only=True)
class StepModel:
    """What a file holds: leaves, the declared length units (first one named first).

    `solids` and `faces` count what arrived, each once however often it is used.
    """

    leaves: tuple[Leaf, ...]
    units: tuple[str, ...]
    solids: int
    faces: int


def read_step(path: str, unit: str | None = None, declared: float | None = None) -> StepModel:
    """Read a file and all that it holds.

    Args:
        path: the file.
        unit: mm, cm, m or inch, where the file's declared unit is wrong; None to believe the file.
        declared: size of the unit that the file declares, mm, where `unit` is given and the kernel may not know it.

    Returns:
        Its leaves in mm.

    Raises:
        ReadError: it cannot be read or holds no faces.
    """
    Message.DefaultMessenger_s().ChangePrinters().Clear()
    # Before that the settings do not exist, and setting them does nothing.
    STEPControl_Controller.Init_s()
    Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
    Interface_Static.SetCVal_s("read.step.codepage", _code_page(path))
    reader = STEPCAFControl_Reader()
    for switch in (reader.SetColorMode, reader.SetLayerMode, reader.SetPropsMode, reader.SetGDTMode, reader.SetMatMode):
        switch(False)
    reader.SetNameMode(True)
    if reader.ReadFile(path) != IFSelect_ReturnStatus.IFSelect_RetDone:
        msg = "the STEP reader found a syntax that it cannot take; export the file again"
        raise ReadError(msg)
    units = _units(reader)
    document = TDocStd_Document(TCollection_ExtendedString("fitcheck"))
    if not reader.Transfer(document):
        msg = "the file was read, but none of its parts could be turned into shapes; export it again as a solid"
        raise ReadError(msg)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    roots = TDF_LabelSequence()
    tool.GetFreeShapes(roots)
    leaves: list[Leaf] = []
    several = roots.Length() > 1
    for index in range(1, roots.Length() + 1):
        _walk(roots.Value(index), TopLoc_Location(), (), (), not several, leaves)
    if not leaves:
        msg = "the file holds no solids and no faces; export the part as a solid, not as a drawing, mesh or points"
        raise ReadError(msg)
    solids, faces = _counted(leaves)
    if unit is not None:
        leaves = _rescaled(leaves, MM_PER[unit] / MM_PER.get(units[0] if units else "mm", declared or 1.0))
    return StepModel(leaves=tuple(_distinct(leaves)), units=units, solids=solids, faces=faces)


def _code_page(path: str) -> str:
    """How the bytes of names are to be read: see `code_page.py`."""
    try:
        with open(path, "rb") as stream:
            return code_page(stream.read())
    except OSError:
        # Reading the file says so.
        return "UTF8"


def _counted(leaves: list[Leaf]) -> tuple[int, int]:
    """Distinct solids and faces: the same one in another place counts once."""
    solids, faces = TopTools_IndexedMapOfShape(), TopTools_IndexedMapOfShape()
    for leaf in leaves:
        bare = leaf.shape.Located(TopLoc_Location()).Oriented(TopAbs_FORWARD)
        if leaf.solid:
            solids.Add(bare)
        TopExp.MapShapes_s(bare, TopAbs_FACE, faces)
    return solids.Extent(), faces.Extent()


def _units(reader: STEPCAFControl_Reader) -> tuple[str, ...]:
    lengths, angles, solids = (TColStd_SequenceOfAsciiString() for _ in range(3))
    reader.ChangeReader().FileUnits(lengths, angles, solids)
    found: list[str] = []
    for index in range(1, lengths.Length() + 1):
        raw = lengths.Value(index).ToCString().strip().lower()
        name = _UNIT_NAMES.get(raw, raw)
        if name not in found:
            found.append(name)
    return tuple(found)


def _label_name(label: TDF_Label) -> str:
    # Asked for a name that is not there, the kernel ends the process on some files.
    if not label.IsAttribute(TDataStd_Name.GetID_s()):
        return ""
    attribute = TDataStd_Name()
    if not label.FindAttribute(TDataStd_Name.GetID_s(), attribute):
        return ""
    return str(attribute.Get().ToExtString()).strip()


def _walk(
    label: TDF_Label,
    place: TopLoc_Location,
    path: tuple[str, ...],
    instances: tuple[str, ...],
    is_root: bool,
    out: list[Leaf],
) -> None:
    """Collect the leaves below a label. The root assembly's own name is not part of the leaves' paths.

    Where one product is used several times only the names of its instances, on any level, tell the bodies apart.
    """
    components = TDF_LabelSequence()
    if XCAFDoc_ShapeTool.IsAssembly_s(label) and XCAFDoc_ShapeTool.GetComponents_s(label, components):
        for index in range(1, components.Length() + 1):
            component = components.Value(index)
            referred = TDF_Label()
            if not XCAFDoc_ShapeTool.GetReferredShape_s(component, referred):
                continue
            here = place.Multiplied(XCAFDoc_ShapeTool.GetLocation_s(component))
            product, instance = _label_name(referred), _label_name(component)
            name = next((text for text in (product, instance) if not _NAMELESS.match(text)), "")
            below = (*path, name) if name else path
            used = instances if _NAMELESS.match(instance) else (*instances, instance)
            if not XCAFDoc_ShapeTool.IsAssembly_s(referred):
                _leaves(referred, here, below, (product, instance, *used, "/".join(used)), out)
            else:
                _walk(referred, here, below, used, False, out)
        return
    name = _label_name(label)
    below = path if not is_root and path else ((name,) if not _NAMELESS.match(name) else ())
    _leaves(label, place, below, (name,), out)


def _leaves(
    label: TDF_Label, place: TopLoc_Location, path: tuple[str, ...], extra: tuple[str, ...], out: list[Leaf]
) -> None:
    shape = XCAFDoc_ShapeTool.GetShape_s(label)
    if shape is None or shape.IsNull():
        return
    shape = shape.Moved(place)
    names = tuple(dict.fromkeys(text for text in (*path, *extra, "/".join(path)) if text))
    shown = "/".join(path)
    for piece, solid in _pieces(shape):
        out.append(Leaf(shape=piece, name=shown, names=names, solid=solid))


def _pieces(shape: TopoDS_Shape) -> list[tuple[TopoDS_Shape, bool]]:
    """The solids of a shape, its shells outside solids, and its faces outside shells."""
    found: list[tuple[TopoDS_Shape, bool]] = []
    for kind, avoid in ((TopAbs_SOLID, None), (TopAbs_SHELL, TopAbs_SOLID), (TopAbs_FACE, TopAbs_SHELL)):
        explorer = TopExp_Explorer(shape, kind) if avoid is None else TopExp_Explorer(shape, kind, avoid)
        while explorer.More():
            piece = explorer.Current()
            if TopExp_Explorer(piece, TopAbs_FACE).More():
                found.append((piece, kind == TopAbs_SOLID))
            explorer.Next()
    return found


def _rescaled(leaves: list[Leaf], factor: float) -> list[Leaf]:
    if factor == 1.0:
        return leaves
    scaling = gp_Trsf()
    scaling.SetScale(gp_Pnt(0.0, 0.0, 0.0), factor)
    return [
        Leaf(
            shape=BRepBuilderAPI_Transform(leaf.shape, scaling, True).Shape(),
            name=leaf.name,
            names=leaf.names,
            solid=leaf.solid,
        )
        for leaf in leaves
    ]


def _distinct(leaves: list[Leaf]) -> list[Leaf]:
    """The same leaves with shown names that differ: nameless ones are numbered, repeated ones too."""
    count: dict[str, int] = {}
    for leaf in leaves:
        count[leaf.name] = count.get(leaf.name, 0) + 1
    seen: dict[str, int] = {}
    named: list[Leaf] = []
    for leaf in leaves:
        seen[leaf.name] = seen.get(leaf.name, 0) + 1
        shown = leaf.name or "body"
        if count[leaf.name] > 1:
            shown = f"{shown} ({seen[leaf.name]})"
        named.append(Leaf(shape=leaf.shape, name=shown, names=(*leaf.names, shown), solid=leaf.solid))
    return named
