"""Names whose bytes are those of a national code page were all read as Western European: Cyrillic names as accents.

The witness is Python's own codecs: a name is encoded by one of them, written into a STEP file, and read back.
"""

from __future__ import annotations

import cadquery as cq
import pytest

from fitcheck.kernel.code_page import code_page
from parametric_models.step_files import write_step

# Words of the trade in their languages, from memory.
NAMES = {
    "cp1252": (
        "Träger", "Flansch für Motor", "Fuß groß", "écrou à épaulement", "pièce usinée", "Motorhållare främre",
        "Skrue æske Ø12", "soporte pequeño", "mancal de fixação", "Päätylevy", "Kupplung 40° Ø12 ±0,1", "nœud",
        "Boîtier", "Festing fyrir mótor, þvermál",
    ),
    "cp1250": ("Łącznik silnika", "mocowanie śruby", "Držák přední", "příruba motoru", "Nosač ležišča", "kötőelem"),
    "cp1251": ("Вал", "Кронштейн двигателя", "КОРПУС", "Фланец M6x20", "Подшипник левый", "Корпус підшипника"),
    "cp1253": ("Βάση κινητήρα", "Άξονας", "Φλάντζα"),
    "cp1254": ("Bağlantı flanşı", "Yatak gövdesi sağ"),
    "cp1257": ("Variklio laikiklis, įvorė, ąžuolas", "mootori kinnitus õli"),
    "gb2312": ("电机支架", "联轴器", "丝杠 M3螺钉", "轴承座"),
    "cp932": ("モータ取付板", "カップリング", "軸受ケース", "ブラケット"),
    "euc_jp": ("モータ取付板", "カップリング"),
}  # fmt: skip
CODEC = {"GB": "gb2312", "SJIS": "cp932", "EUC": "euc_jp"}


EACH = [pytest.param(codec, name, id=f"{codec}-{at}") for codec in NAMES for at, name in enumerate(NAMES[codec])]


@pytest.mark.parametrize(("codec", "name"), EACH)
def test_the_page_makes_the_name_readable(codec, name):
    data = b"#1=PRODUCT('" + name.encode(codec) + b"','',$,());\n#2=PRODUCT('plain','',$,());"
    found = code_page(data)
    assert name.encode(codec).decode(CODEC.get(found, found)) == name
    # The same in UTF-8 is UTF-8.
    assert code_page(f"#1=PRODUCT('{name}','',$,());".encode()) == "UTF8"


@pytest.mark.parametrize("codec", NAMES)
def test_a_body_s_name_is_shown_as_it_was_written(kernel, tmp_path, codec):
    from fitcheck.measurement.measure import measure_file

    name = NAMES[codec][1]
    path = tmp_path / "named.step"
    model = cq.Assembly(name="machine")
    model.add(cq.Workplane().box(10, 10, 5), name="XXXX")
    model.add(cq.Workplane().box(4, 4, 30), name="other")
    write_step(path, model)
    path.write_bytes(path.read_bytes().replace(b"XXXX", name.encode(codec)))
    assert name in [body.name for body in measure_file(str(path), None, kernel).bodies]


def test_bytes_that_no_page_explains_are_read_all_the_same():
    assert code_page(b"'\x81\xff\x00\x90'") in {"CP1252", "CP1250", "CP1251", "CP1253", "CP1254", "CP1257", *CODEC}
    assert code_page(b"\xff no name at all") == "CP1252"
