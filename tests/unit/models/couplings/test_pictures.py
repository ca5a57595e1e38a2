"""The stored pictures: one of each family, small, and of the size that the script draws."""

import struct
from pathlib import Path

from fitcheck.job.model import FAMILIES

PICTURES = Path(__file__).resolve().parents[4] / "sample_assemblies" / "pictures" / "couplings"


def test_each_family_has_its_picture():
    assert sorted(path.name for path in PICTURES.iterdir()) == sorted(f"{f.replace(' ', '-')}.png" for f in FAMILIES)
    for path in PICTURES.iterdir():
        data = path.read_bytes()
        # PNG (ISO/IEC 15948): signature, then the IHDR chunk with width and height
        assert data[:8] == b"\x89PNG\r\n\x1a\n"
        assert struct.unpack(">II", data[16:24]) == (420, 320)
        assert 10_000 < len(data) < 60_000
