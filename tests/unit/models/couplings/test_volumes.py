"""Volumes and inertia against closed forms derived here."""

import math

import cadquery as cq
import pytest
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps

from fitcheck.errors import TableError
from parametric_models.couplings import build
from parametric_models.couplings.base import Body
from parametric_models.couplings.fasteners import cap_screw_solid, set_screw_solid
from parametric_models.couplings.helix import helical_slot
from parametric_models.couplings.materials import Material, mass_properties, material, material_names

PLAIN = {"fastening": "set screw", "chamfer": 0.0}


def volume(shape):
    """By the kernel's integration with an accuracy asked for; without one it is 1e-5 off at holes in curved walls."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape.wrapped, properties, 1e-8, False, False)
    return properties.Mass()


def disc_area(diameter):
    return math.pi * diameter**2 / 4


def body(bodies, name, group=None):
    return next(found for found in bodies if found.name == name and found.group == group)


def test_cap_screw():
    # ISO 4762 M4 (REFERENCES 1.1): head 7.22 x 4, key 3, socket 2.0 deep; hexagon of side s/sqrt(3): area s^2 sqrt(3)/2
    expected = disc_area(7.22) * 4 + disc_area(4) * 16 - 9 * math.sqrt(3) / 2 * 2.0
    assert volume(cap_screw_solid("M4", 16.0)) == pytest.approx(expected, rel=1e-9)


def test_set_screw():
    # ISO 4026 M5 (REFERENCES 1.5): key 2.5, socket 2.5 deep
    expected = disc_area(5) * 6 - 2.5**2 * math.sqrt(3) / 2 * 2.5
    assert set_screw_solid("M5", 6.0).Volume() == pytest.approx(expected, rel=1e-9)


def radial_hole(hole, inner, outer):
    """Volume of a round radial hole through the wall of a tube, by numerical integration over the hole's section."""
    a, total, count = hole / 2, 0.0, 4000
    for index in range(count):
        # the hole's section in strips along the tube's axis; x is across, and sin substitution smooths the ends
        angle = -math.pi / 2 + math.pi * (index + 0.5) / count
        x = a * math.sin(angle)
        depth = math.sqrt((outer / 2) ** 2 - x**2) - math.sqrt((inner / 2) ** 2 - x**2)
        total += 2 * a * math.cos(angle) * depth * a * math.cos(angle) * math.pi / count
    return total


def test_rigid_sleeve_with_set_screws():
    coupling = build.coupling("rigid", outside_diameter=34, bores=(8, 12), motor=PLAIN, actuator=PLAIN)
    motor, actuator = coupling.motor, coupling.actuator
    expected = sum(
        (disc_area(34) - disc_area(hub.bore)) * hub.length - radial_hole(hub.screws[0].thread, hub.bore, 34)
        for hub in (motor, actuator)
    )
    assert volume(body(coupling.bodies(), "sleeve").shape) == pytest.approx(expected, rel=1e-6)


def test_keyway_takes_its_section_out():
    bores, fastening = (12, 12), {"chamfer": 0.0, "fastening": "key with clamp"}
    keyed = build.coupling("rigid", outside_diameter=40, bores=bores, motor=fastening, actuator=fastening)
    plain = {"chamfer": 0.0, "fastening": "clamp"}
    bare = build.coupling("rigid", outside_diameter=40, bores=bores, motor=plain, actuator=plain)
    # DIN 6885-1 at 12 mm: 4 x 4, hub depth 1.8: a strip 4 wide from the bore's surface to 6 + 1.8 from the axis
    half, radius = 2.0, 6.0
    under = half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius)
    section = 4 * (6 + 1.8) - under
    lost = volume(body(bare.bodies(), "sleeve").shape) - volume(body(keyed.bodies(), "sleeve").shape)
    assert lost == pytest.approx(section * keyed.length, rel=1e-6)


def test_flat_in_the_bore_adds_its_segment():
    def made(**flat):
        hub = PLAIN | flat
        coupling = build.coupling("rigid", outside_diameter=30, bores=(8, 8), motor=hub, actuator=hub)
        return volume(body(coupling.bodies(), "sleeve").shape), coupling

    round_volume, round_coupling = made()
    flat_volume, flat_coupling = made(flat_height=7.5, screw_size=round_coupling.motor.screws[0].size)
    # circle segment beyond a chord 3.5 from the centre of radius 4
    segment = 16 * math.acos(3.5 / 4) - 3.5 * math.sqrt(16 - 3.5**2)
    # the screw hole goes through the flat's land as well: from the chord to the round bore
    a = flat_coupling.motor.screws[0].thread / 2
    count, through = 4000, 0.0
    for index in range(count):
        angle = -math.pi / 2 + math.pi * (index + 0.5) / count
        x = a * math.sin(angle)
        depth = max(0.0, math.sqrt(16 - x**2) - 3.5)
        through += 2 * a * math.cos(angle) * depth * a * math.cos(angle) * math.pi / count
    expected = segment * round_coupling.length - 2 * through
    assert flat_volume - round_volume == pytest.approx(expected, rel=1e-5)


def test_parallel_cuts_leave_their_bridges():
    def left(cuts):
        coupling = build.coupling(
            "slit", outside_diameter=30, bores=(8, 8), motor=PLAIN, actuator=PLAIN, cuts=cuts, middle_length=15.0,
            cut_width=0.5, pitch=2.0, bridge=4.0, core_diameter=9.0,
        )  # fmt: skip
        return volume(body(coupling.bodies(), "body").shape)

    # each cut takes the ring, less the circle segment beyond the bridge's chord at 15 - 4 = 11
    bridge = 225 * math.acos(11 / 15) - 11 * math.sqrt(225 - 121)
    lost = (disc_area(30) - disc_area(9) - bridge) * 0.5
    assert left(1) - left(4) == pytest.approx(3 * lost, rel=1e-7)


def test_helical_cut_takes_its_width_in_every_turn():
    slot = helical_slot(5.0, 16.0, 10.0, 0.6, 3.0, 2.5)
    tube = cq.Solid.makeCylinder(15.0, 40.0).cut(cq.Solid.makeCylinder(6.0, 40.0))
    left = tube.cut(slot)
    assert left.isValid()
    # at every radius and angle the cut is 0.6 high: width x turns x ring area
    assert tube.Volume() - left.Volume() == pytest.approx(0.6 * 2.5 * math.pi * (225 - 36), rel=1e-5)


def test_spider_and_jaws():
    coupling = build.coupling(
        "jaw", outside_diameter=40, bores=(10, 10), motor=PLAIN, actuator=PLAIN, jaws=3, jaw_turn=32.0, jaw_inside=18.0,
        spider_diameter=39.0, spider_bore=9.0, spider_width=13.0, jaw_length=14.0, middle_length=15.0,
    )  # fmt: skip
    bodies = coupling.bodies()
    legs = 6 * (60.0 - 32.0) / 360.0
    spider = 13.0 * (disc_area(18) - disc_area(9) + legs * (disc_area(39) - disc_area(18)))
    assert volume(body(bodies, "spider").shape) == pytest.approx(spider, rel=1e-9)
    hub = coupling.motor
    jaws = 14.0 * 3 * 32.0 / 360.0 * (disc_area(40) - disc_area(18))
    ring = (disc_area(40) - disc_area(10)) * hub.length - radial_hole(hub.screws[0].thread, 10, 40)
    assert volume(body(bodies, "hub", "motor hub").shape) == pytest.approx(ring + jaws, rel=1e-6)


def test_oldham_disc():
    coupling = build.coupling(
        "oldham", outside_diameter=30, bores=(8, 8), disc_thickness=10.0, slot_depth=4.0, tongue_width=6.0,
        disc_bore=0.0, tongue_height=4.0,
    )  # fmt: skip
    strip = 2 * (3 * math.sqrt(225 - 9) + 225 * math.asin(3 / 15))
    expected = disc_area(30) * 10 - 2 * 4.0 * strip
    assert volume(body(coupling.bodies(), "disc").shape) == pytest.approx(expected, rel=1e-9)


def test_bellows_by_pappus():
    coupling = build.coupling(
        "bellows", outside_diameter=30, bores=(6, 6), convolutions=3, wall=0.2, crown_diameter=29.0, root_diameter=20.0,
        tube_length=2.0, middle_length=13.0,
    )  # fmt: skip
    # pitch 3, curve 0.75; wall's middle line: tube at 10.1, roots' centres at 10.85, crowns' centres at 13.65
    a, b, c = 0.75, 0.65, 0.85
    half_ring = math.pi / 2 * (c**2 - b**2)
    # centroid of a half annulus from its centre: 4/(3 pi) (c^3 - b^3)/(c^2 - b^2)
    out = 4 / (3 * math.pi) * (c**3 - b**3) / (c**2 - b**2)
    crown = half_ring * 2 * math.pi * (13.65 + out)
    roots = half_ring * 2 * math.pi * (10.85 - out)
    flanks = 2 * 0.2 * (13.65 - 10.85) * 2 * math.pi * (13.65 + 10.85) / 2
    tubes = 2 * 2.0 * 0.2 * 2 * math.pi * 10.1
    assert coupling.curve == a
    expected = 3 * (crown + roots + flanks) + tubes
    assert volume(body(coupling.bodies(), "bellows").shape) == pytest.approx(expected, rel=1e-9)


def test_mass_and_inertia_of_a_tube():
    tube = cq.Solid.makeCylinder(20.0, 50.0).cut(cq.Solid.makeCylinder(5.0, 50.0))
    found = mass_properties([Body(name="tube", group=None, shape=tube, material="steel", colour=(0, 0, 0))])
    mass = 7850 * math.pi * (0.02**2 - 0.005**2) * 0.05
    assert found.mass == pytest.approx(mass, rel=1e-9)
    # J = m (R^2 + r^2) / 2
    assert found.inertia == pytest.approx(mass * (0.02**2 + 0.005**2) / 2, rel=1e-9)
    assert found.centre == pytest.approx(25.0, abs=1e-9)


def test_coupling_mass_is_the_sum_of_its_bodies():
    found = build.mass_properties(build.coupling("jaw", outside_diameter=34, bores=(8, 12)))
    assert found.mass == pytest.approx(sum(part[2] for part in found.bodies), rel=1e-12)
    # a solid aluminium cylinder of that size is heavier
    assert 0.4 < found.mass / (2810 * disc_area(0.034) * 0.0401) < 1.0
    assert {row.name for row in found.materials} == {"aluminium 7075", "steel", "polyurethane"}


def test_every_material_says_where_it_comes_from():
    assert set(material_names()) >= {"steel", "aluminium 7075", "acetal", "polyurethane", "stainless steel"}
    for name in material_names():
        row = material(name)
        assert isinstance(row, Material)
        assert row.source
        assert row.confidence in ("read", "memory")
        assert 900 < row.density < 9000
    with pytest.raises(TableError, match=r"material 'wood' is not in the table; there are: steel, "):
        material("wood")
