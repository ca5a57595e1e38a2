"""A document as a STEP, STL or glTF file. Loads the CAD kernel; the document's numbers are mm."""

from __future__ import annotations

import base64
import json
import struct
from pathlib import Path

from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.gp import gp_Pnt, gp_Trsf
from OCP.Message import Message_ProgressRange
from OCP.RWGltf import RWGltf_CafWriter
from OCP.RWMesh import RWMesh_CoordinateSystem
from OCP.StlAPI import StlAPI_Writer
from OCP.TCollection import TCollection_AsciiString
from OCP.TColStd import TColStd_IndexedDataMapOfStringString
from OCP.TDocStd import TDocStd_Document
from OCP.TopoDS import TopoDS_Compound
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from parametric_models.export.documents import roots
from parametric_models.export.request import MM_PER
from parametric_models.step_files import Origin, save_document

DEFLECTION = 0.02
"""mm; how far a facet may stray from its face."""

ANGLE = 0.3
"""rad between neighbouring facets, where the deflection does not ask for more."""


def write(document: TDocStd_Document, path: Path, ending: str, unit: str, title: str, time: str) -> None:
    """Write a document to a file.

    Args:
        document: its numbers are mm.
        path: where to.
        ending: step, stl, gltf or glb.
        unit: unit of the numbers in a STEP or STL file; glTF is in metres, y up, by its own specification.
        title: the file's name for its header.
        time: ISO 8601 time for its header.

    Raises:
        OSError: the kernel could not write it.
    """
    if ending == "step":
        origin = Origin(time=time, author="", organisation="")
        save_document(document, path, title, origin, unit, flat_curves=True)
    elif ending == "stl":
        _stl(document, path, unit)
    else:
        _gltf(document, path, ending)


def _all(document: TDocStd_Document) -> TopoDS_Compound:
    compound = TopoDS_Compound()
    builder = BRep_Builder()
    builder.MakeCompound(compound)
    for label in roots(XCAFDoc_DocumentTool.ShapeTool_s(document.Main())):
        builder.Add(compound, XCAFDoc_ShapeTool.GetShape_s(label))
    return compound


def _mesh(document: TDocStd_Document) -> TopoDS_Compound:
    shape = _all(document)
    BRepMesh_IncrementalMesh(shape, DEFLECTION, False, ANGLE, False)
    return shape


def _stl(document: TDocStd_Document, path: Path, unit: str) -> None:
    sizing = gp_Trsf()
    sizing.SetScale(gp_Pnt(0.0, 0.0, 0.0), 1.0 / MM_PER[unit])
    shape = BRepBuilderAPI_Transform(_mesh(document), sizing, True, True).Shape()
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    if not writer.Write(shape, str(path)):
        msg = f"{path}: the kernel could not write the STL file"
        raise OSError(msg)


def _gltf(document: TDocStd_Document, path: Path, ending: str) -> None:
    _mesh(document)
    binary = path.with_name(f"{path.name}.glb")
    try:
        writer = RWGltf_CafWriter(TCollection_AsciiString(str(binary)), True)
        # a body is one mesh, not one a face
        writer.SetMergeFaces(True)
        writer.ChangeCoordinateSystemConverter().SetInputCoordinateSystem(
            RWMesh_CoordinateSystem.RWMesh_CoordinateSystem_Zup
        )
        if not writer.Perform(document, TColStd_IndexedDataMapOfStringString(), Message_ProgressRange()):
            msg = f"{path}: the kernel could not write the glTF file"
            raise OSError(msg)
        data = binary.read_bytes()
    finally:
        binary.unlink(missing_ok=True)
    path.write_bytes(data if ending == "glb" else _as_text(data))


def _as_text(data: bytes) -> bytes:
    """A binary glTF as a text one that holds its buffer itself, so that it is one file."""
    (size,) = struct.unpack_from("<I", data, 12)
    content = json.loads(data[20 : 20 + size])
    (length,) = struct.unpack_from("<I", data, 20 + size)
    buffer = data[28 + size : 28 + size + length]
    encoded = base64.b64encode(buffer[: content["buffers"][0]["byteLength"]]).decode()
    content["buffers"][0]["uri"] = f"data:application/octet-stream;base64,{encoded}"
    return json.dumps(content, separators=(",", ":")).encode()
