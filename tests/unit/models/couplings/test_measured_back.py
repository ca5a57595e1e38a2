"""Bores, screw places and screw heads measured back from the solids by the checker's own kernel room."""

import math

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.job.model import FAMILIES
from fitcheck.measurement.cylinders import find_bores
from fitcheck.measurement.survey import survey_from
from fitcheck.measurement.vectors import cross, dot, norm, sub
from parametric_models.couplings import build
from parametric_models.couplings.fasteners import cap_screw_solid, set_screw_solid
from parametric_models.step_files import write_step

# Head diameter, head height, key size, socket depth: bd_warehouse 0.4.0 (Apache-2.0), a part collection for another CAD
# library, its table socket_head_cap_parameters.csv, columns iso4762:dk, k, s and t; typed off, as the package itself
# brings that library along.
CAP_SCREWS = {
    "M1.6": (3.14, 1.6, 1.5, 0.7), "M2": (3.98, 2.0, 1.5, 1.0), "M2.5": (4.68, 2.5, 2.0, 1.1),
    "M3": (5.68, 3.0, 2.5, 1.3), "M4": (7.22, 4.0, 3.0, 2.0), "M5": (8.72, 5.0, 4.0, 2.5),
    "M6": (10.22, 6.0, 5.0, 3.0), "M8": (13.27, 8.0, 6.0, 4.0), "M10": (16.27, 10.0, 8.0, 5.0),
    "M12": (18.27, 12.0, 10.0, 6.0),
}  # fmt: skip
# Key sizes of set screws: the same package, metric_set_screw_parameters.csv, Socket_Size.
SET_SCREWS = {
    "M1.6": 0.7, "M2": 0.9, "M2.5": 1.3, "M3": 1.5, "M4": 2.0, "M5": 2.5, "M6": 3.0, "M8": 4.0, "M10": 5.0, "M12": 6.0,
}  # fmt: skip


@pytest.fixture
def bores_of(kernel, tmp_path_factory):
    def measured(model):
        path = tmp_path_factory.mktemp("back") / "model.step"
        write_step(path, model)
        answer, arrays = kernel.ask(str(path), "reading", {"do": "read", "path": str(path)})
        survey = survey_from(answer, arrays)
        return survey, find_bores(survey)

    return measured


def on_line(bores, point, direction):
    """Bores and bosses whose axis is the line, with the stretch along its direction that they cover."""
    found = []
    for bore in bores:
        if norm(cross(bore.axis, direction)) < 1e-7 and norm(cross(sub(bore.origin, point), direction)) < 1e-6:
            ends = sorted(dot(sub(bore.point(t), point), direction) for t in (bore.start, bore.stop))
            found.append((bore, ends[0], ends[1]))
    return found


def check(coupling, bores):
    axis = on_line(bores, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    for hub, seat in zip((coupling.motor, coupling.actuator), coupling.seats, strict=True):
        low, high = seat.span(0.0, hub.bore_length)
        mine = [(a, b) for bore, a, b in axis if bore.concave and abs(bore.radius - hub.bore / 2) < 1e-6]
        assert any(abs(a - low) < 1e-6 and abs(b - high) < 1e-6 for a, b in mine), (hub.name, low, high, mine)
        for screw in hub.screws:
            turn = math.radians(screw.angle)
            direction = (math.cos(turn), math.sin(turn), 0.0)
            point = (-screw.offset * math.sin(turn), screw.offset * math.cos(turn), seat.station(screw.station))
            line = on_line(bores, point, direction)
            bosses = {round(2 * bore.radius, 6): (a, b) for bore, a, b in line if not bore.concave}
            holes = {round(2 * bore.radius, 6) for bore, _, _ in line if bore.concave}
            assert round(screw.thread, 6) in holes
            if screw.head_height:
                assert bosses[round(2 * screw.across, 6)] == pytest.approx((screw.seat, screw.head_end), abs=1e-6)
                assert round(screw.hole, 6) in holes
            assert bosses[round(screw.thread, 6)] == pytest.approx((screw.tip, screw.seat), abs=1e-6)


@pytest.mark.parametrize(
    ("family", "fastening"),
    [
        ("rigid", "set screw"), ("slit", "clamp"), ("oldham", "key with set screw"), ("jaw", "clamp two-piece"),
        ("bellows", "key with clamp"), ("disc", "clamp"), ("universal joint", "set screw"),
    ],
)  # fmt: skip
def test_default_couplings_measured_back(bores_of, family, fastening):
    coupling = build.coupling(family, outside_diameter=34.0, bores=(8.0, 12.0), fastening=fastening)
    _, bores = bores_of(build.assembly(coupling))
    check(coupling, bores)


def test_random_couplings_measured_back(bores_of):
    @given(
        family=st.sampled_from(FAMILIES), diameter=st.floats(18.0, 90.0), shares=st.tuples(*[st.floats(0.2, 0.4)] * 2),
        angles=st.tuples(*[st.floats(0.0, 359.0)] * 2), stick_out=st.floats(0.0, 0.05),
    )  # fmt: skip
    @settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
    def one(family, diameter, shares, angles, stick_out):
        bores = (shares[0] * diameter, shares[1] * diameter + 0.5)
        try:
            first = build.coupling(family, outside_diameter=diameter, bores=bores)
            ends = {
                name: {"screw_angle": angle, "screw_head_end": getattr(first, name).screws[0].head_end + stick_out * 18}
                for name, angle in zip(("motor", "actuator"), angles, strict=True)
            }
            coupling = build.coupling(family, outside_diameter=diameter, bores=bores, **ends)
        except UsageError:
            reject()
        check(coupling, bores_of(build.assembly(coupling))[1])

    one()


def hexagon(survey):
    """Distances of the planes parallel to the z axis from it, and the depth of the deepest plane square to it."""
    sides = [
        abs(dot(face.origin, face.axis)) for face in survey.faces if face.kind == "plane" and abs(face.axis[2]) < 0.1
    ]
    levels = [face.origin[2] for face in survey.faces if face.kind == "plane" and abs(face.axis[2]) > 0.9]
    return sides, levels


@pytest.mark.parametrize("size", CAP_SCREWS)
def test_cap_screws_against_an_independent_table(bores_of, size):
    head, height, key, depth = CAP_SCREWS[size]
    survey, bores = bores_of(cap_screw_solid(size, 20.0))
    bosses = {round(2 * bore.radius, 6): bore.stop - bore.start for bore in bores if not bore.concave}
    assert bosses == {head: pytest.approx(height, abs=1e-6), float(size[1:]): pytest.approx(20.0, abs=1e-6)}
    sides, levels = hexagon(survey)
    assert sides == pytest.approx([key / 2] * 6, abs=1e-6)
    assert any(level == pytest.approx(height - depth, abs=1e-6) for level in levels)


@pytest.mark.parametrize("size", SET_SCREWS)
def test_set_screws_against_an_independent_table(bores_of, size):
    survey, bores = bores_of(set_screw_solid(size, 20.0))
    assert [2 * bore.radius for bore in bores] == pytest.approx([float(size[1:])], abs=1e-6)
    assert hexagon(survey)[0] == pytest.approx([SET_SCREWS[size] / 2] * 6, abs=1e-6)
