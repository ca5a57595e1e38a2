"""Reads files apart from what wrote them: products, colours and exact shapes by the kernel's own reader."""

from pathlib import Path

import cadquery as cq
import pytest
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_ColorTool, XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

SAMPLES = Path(__file__).resolve().parents[3] / "sample_assemblies"


def _named(label):
    attribute = TDataStd_Name()
    return attribute.Get().ToExtString() if label.FindAttribute(TDataStd_Name.GetID_s(), attribute) else ""


def _colour(label):
    found = Quantity_Color()
    for kind in (XCAFDoc_ColorType.XCAFDoc_ColorSurf, XCAFDoc_ColorType.XCAFDoc_ColorGen):
        if XCAFDoc_ColorTool.GetColor_s(label, kind, found):
            return tuple(round(value, 3) for value in found.Values(Quantity_TypeOfColor.Quantity_TOC_sRGB))
    return None


def _walk(label, path, found):
    children = TDF_LabelSequence()
    XCAFDoc_ShapeTool.GetComponents_s(label, children)
    if not children.Length():
        found["/".join(path)] = (cq.Shape.cast(XCAFDoc_ShapeTool.GetShape_s(label)), _colour(label))
    for index in range(1, children.Length() + 1):
        part = TDF_Label()
        XCAFDoc_ShapeTool.GetReferredShape_s(children.Value(index), part)
        _walk(part, (*path, _named(part)), found)


@pytest.fixture(scope="session")
def products():
    """Of a STEP file: the shape (mm) and the colour of every part, by its path of product names."""

    def read(path):
        document = TDocStd_Document(TCollection_ExtendedString("read"))
        reader = STEPCAFControl_Reader()
        reader.SetNameMode(True)
        reader.SetColorMode(True)
        reader.ReadFile(str(path))
        assert reader.Transfer(document)
        tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
        roots, found = TDF_LabelSequence(), {}
        tool.GetFreeShapes(roots)
        for index in range(1, roots.Length() + 1):
            _walk(roots.Value(index), (_named(roots.Value(index)),), found)
        return found

    return read


@pytest.fixture
def job_file(tmp_path):
    """A sample's job file and STEP file in a folder of their own."""

    def copied(name, **replaced):
        kind, name = name.split("/")
        text = (SAMPLES / kind / f"{name}.fit.yaml").read_text(encoding="utf-8")
        for old, new in replaced.items():
            assert old in text
            text = text.replace(old, new)
        step = tmp_path / f"{name}.step"
        step.write_bytes((SAMPLES / kind / f"{name}.step").read_bytes())
        path = tmp_path / f"{name}.fit.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return copied
