"""STEP files that come out the same, byte for byte, whenever they are written again by the same kernel.

The header has a fixed time and author; product names are given; the kernel's process-wide settings are set for one
file and put back. A file is written whole or not at all.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import cadquery as cq
from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy, BRepBuilderAPI_Transform
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_Controller, STEPControl_StepModelType
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_ColorTool, XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from parametric_models.refusals import check_choice

UNITS = {"mm": "MM", "inch": "INCH", "cm": "CM", "m": "M"}
SCHEMAS = {"AP203": "AP203", "AP214": "AP214IS", "AP242": "AP242DIS"}
TIME_STAMP = "2026-01-01T00:00:00"
ORIGIN = (
    (rb"CALENDAR_DATE\(\d+,\d+,\d+\)", b"CALENDAR_DATE(2026,1,1)"),
    (rb"LOCAL_TIME\(\d+,\d+,\$,(#\d+)\)", rb"LOCAL_TIME(0,0,$,\1)"),
    (rb"COORDINATED_UNIVERSAL_TIME_OFFSET\([^)]*\)", b"COORDINATED_UNIVERSAL_TIME_OFFSET(0,0,.AHEAD.)"),
    (rb"= PERSON\((?:\s*'[^']*',){3}\$,\$,\$\)", b"= PERSON('1','demo','demo',$,$,$)"),
    (rb"= ORGANIZATION\((?:\s*(?:'[^']*'|\$),?){3}\)", b"= ORGANIZATION('1','demo','invented demo part')"),
)
AUTHOR = "fitcheck parametric models"


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where a STEP file comes from, as its header says: time (ISO 8601), author and organisation."""

    time: str
    author: str
    organisation: str


SAMPLE = Origin(time=TIME_STAMP, author=AUTHOR, organisation="invented demo part")


def write_step(
    path: str | Path, model: cq.Shape | cq.Assembly, unit: str = "mm", schema: str = "AP214", name: str | None = None
) -> None:
    """Write one STEP file, the same bytes every time.

    Args:
        path: where to; an existing file is replaced in one step.
        model: a shape, or an assembly whose nesting, names, places and colours are kept.
        unit: length unit of the numbers in the file, mm, inch, cm or m; the model's own numbers are mm.
        schema: AP203, AP214 or AP242.
        name: product name of a single shape; by default the file's name without its ending.

    Raises:
        ValueError: unit or schema is unknown, or the model is an assembly without any shape or with a place of its own.
        OSError: the file could not be written.
    """
    check_choice("unit", unit, tuple(UNITS))
    check_choice("schema", schema, tuple(SCHEMAS))
    target = Path(path)
    document = new_document()
    add_model(document, model, name or target.stem)
    handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    os.close(handle)
    try:
        save_document(document, Path(temporary), target.name, SAMPLE, unit, schema)
        _fix_origin(Path(temporary))
        # mkstemp makes the file private; a sample is for everyone, as any other file.
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(temporary, 0o666 & ~umask)
        os.replace(temporary, target)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def add_model(document: TDocStd_Document, model: cq.Shape | cq.Assembly, name: str) -> TDF_Label:
    """Put a shape or an assembly into a document, as a product with its structure, names, places and colours.

    Args:
        document: from `new_document`.
        model: its numbers are mm.
        name: product name of a single shape; an assembly has its own.

    Returns:
        The product's label.

    Raises:
        ValueError: the model is an assembly without any shape or with a place of its own.
    """
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    shapes.SetAutoNaming_s(False)
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    if isinstance(model, cq.Assembly):
        if not model.loc.wrapped.IsIdentity():
            msg = f"assembly {model.name!r} has a place of its own; give the places to its children"
            raise ValueError(msg)
        label = _assembly_label(model, shapes, colours)
    else:
        label = _part_label(model, name, shapes)
    shapes.UpdateAssemblies()
    return label


def save_document(
    document: TDocStd_Document, path: Path, name: str, origin: Origin, unit: str = "mm", schema: str = "AP214",
    *, flat_curves: bool = False,
) -> None:  # fmt: skip
    """Write a document as a STEP file, straight to its place.

    Args:
        document: its numbers are mm.
        path: where to.
        name: the file's name in its header.
        origin: who wrote it and when, for the header.
        unit: length unit of the numbers in the file, a key of `UNITS`.
        schema: a key of `SCHEMAS`.
        flat_curves: also write the curves in the parameters of their surfaces, as files from elsewhere may need.

    Raises:
        OSError: the file could not be written.
    """
    with _settings(unit, schema, flat_curves):
        writer = STEPCAFControl_Writer()
        writer.SetNameMode(True)
        writer.SetColorMode(True)
        done = writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
        _header(writer, name, origin)
        status = writer.Write(str(path)) if done else IFSelect_ReturnStatus.IFSelect_RetFail
    if status != IFSelect_ReturnStatus.IFSelect_RetDone:
        # `path` may be a temporary one; people know the file by the name that it is to have.
        msg = f"{path.with_name(name)}: the kernel could not write the STEP file ({status})"
        raise OSError(msg)


def _fix_origin(path: Path) -> None:
    """Put fixed words where the kernel wrote time, user and computer into the data (AP203 asks for them)."""
    text = path.read_bytes()
    for pattern, fixed in ORIGIN:
        text = re.sub(pattern, fixed, text)
    # The kernel numbers the uses of parts on through the whole process; here each file starts at 1. The statement is
    # put on one line, because where the kernel breaks it depends on the number's length.
    numbers = count(1)

    def numbered(found: re.Match[bytes]) -> bytes:
        rest = re.sub(rb"\n\s*", b"", found.group(2))
        return b"%s('%d'%s" % (found.group(1), next(numbers), rest)

    text = re.sub(rb"(NEXT_ASSEMBLY_USAGE_OCCURRENCE)\(\s*'\d+'([^;]*;)", numbered, text)
    path.write_bytes(text)


@contextmanager
def _settings(unit: str, schema: str, flat_curves: bool) -> Iterator[None]:
    """The kernel's settings for one file; put back at the end, as they hold for the whole process."""
    # The settings exist only once the kernel's STEP part has been started.
    STEPControl_Controller.Init_s()
    words = {"xstep.cascade.unit": "MM", "write.step.unit": UNITS[unit], "write.step.schema": SCHEMAS[schema]}
    numbers = {"write.surfacecurve.mode": int(flat_curves), "write.precision.mode": 0, "write.step.assembly": 2}
    before = {key: Interface_Static.CVal_s(key) for key in words}
    counts = {key: Interface_Static.IVal_s(key) for key in numbers}
    try:
        for key, word in words.items():
            _set(key, Interface_Static.SetCVal_s(key, word))
        for key, number in numbers.items():
            _set(key, Interface_Static.SetIVal_s(key, number))
        yield
    finally:
        for key, word in before.items():
            Interface_Static.SetCVal_s(key, word)
        for key, number in counts.items():
            Interface_Static.SetIVal_s(key, number)


def _set(key: str, accepted: bool) -> None:
    if not accepted:
        msg = f"the CAD kernel does not accept the setting {key}"
        raise OSError(msg)


def new_document() -> TDocStd_Document:
    """An empty document whose numbers are mm."""
    application = XCAFApp_Application.GetApplication_s()
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    application.InitDocument(document)
    # The document's own unit, in metres: the models are in mm.
    XCAFDoc_DocumentTool.SetLengthUnit_s(document, 0.001)
    return document


def _name(label: TDF_Label, name: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name, True))


def _part_label(shape: cq.Shape, name: str, shapes: XCAFDoc_ShapeTool) -> TDF_Label:
    """The shape as a product of that name; the same shape under another name becomes a product of its own."""
    own = shape.wrapped
    if not own.Location().IsIdentity():
        # A part's coordinates are those of its geometry: a place of its own would make it an assembly.
        own = BRepBuilderAPI_Transform(own.Located(TopLoc_Location()), own.Location().Transformation(), True).Shape()
    known = TDF_Label()
    if shapes.FindShape(own, known, False):
        if _name_of(known) == name:
            return known
        own = BRepBuilderAPI_Copy(own).Shape()
    label = shapes.AddShape(own, False)
    _name(label, name)
    return label


def _name_of(label: TDF_Label) -> str:
    attribute = TDataStd_Name()
    return str(attribute.Get().ToExtString()) if label.FindAttribute(TDataStd_Name.GetID_s(), attribute) else ""


def _assembly_label(node: cq.Assembly, shapes: XCAFDoc_ShapeTool, colours: XCAFDoc_ColorTool) -> TDF_Label:
    """The node as a product: a part where it has only a shape, otherwise an assembly of its shape and children."""
    own = None
    if node.obj is not None:
        bodies = node.shapes
        shape = bodies[0] if len(bodies) == 1 else cq.Compound.makeCompound(bodies)
        own = _part_label(shape, node.name if not node.children else f"{node.name} body", shapes)
        if node.color is not None:
            colours.SetColor(own, node.color.wrapped, XCAFDoc_ColorType.XCAFDoc_ColorSurf)
        if not node.children:
            return own
    if not node.children:
        msg = f"assembly {node.name!r} has neither a shape nor children"
        raise ValueError(msg)
    label = shapes.NewShape()
    _name(label, node.name)
    if own is not None:
        _name(shapes.AddComponent(label, own, TopLoc_Location()), f"{node.name} body")
    for child in node.children:
        part = _assembly_label(child, shapes, colours)
        _name(shapes.AddComponent(label, part, child.loc.wrapped), child.name)
    return label


def _header(writer: STEPCAFControl_Writer, name: str, origin: Origin) -> None:
    header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())

    def text(value: str) -> TCollection_HAsciiString:
        return TCollection_HAsciiString(value)

    header.SetName(text(name))
    header.SetTimeStamp(text(origin.time))
    header.SetAuthorValue(1, text(origin.author))
    header.SetOrganizationValue(1, text(origin.organisation))
    header.SetOriginatingSystem(text(AUTHOR))
    header.SetAuthorisation(text("none"))
