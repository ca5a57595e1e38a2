"""Which body is the adapter, and which line the drive axis, where shapes alone cannot tell. Lengths mm."""

from __future__ import annotations

import itertools

import cadquery as cq
import pytest

from fitcheck.checks.run import CHECKS, run_checks
from fitcheck.job.load import load_job
from fitcheck.job.template import job_template
from fitcheck.measurement.options import MeasureOptions
from fitcheck.measurement.roles import orient
from parametric_models.machines import MachineBody, ShaftEnd, motor

V = cq.Vector
NM = 1e-6
PLACES = ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (0.0, 0.0, 70.0), (0.0, 0.0, 60.0))


def pair(bench, names, apart):
    """Two equal adapters, one moved; both turned as one, so that no direction of the file is the axis'."""
    whole = bench.housing()
    bodies = {names[0]: whole, names[1]: whole.moved(cq.Location(V(*apart)))}
    return bench.assembly({n: s.rotate(V(), V(1, 2, -0.5), 37).translate(V(12, -40, 9)) for n, s in bodies.items()})


def findings(found, tmp_path):
    job = tmp_path / "job.fit.yaml"
    job.write_text(job_template(found, "part.step"), encoding="utf-8")
    loaded = load_job(str(job))
    return run_checks(loaded, orient(found, loaded.job))


class TestEqualAdapters:
    """Nothing may be told as passed of a file in which the adapter was guessed."""

    @pytest.mark.parametrize("apart", PLACES[1:])
    @pytest.mark.parametrize("names", [("one", "two"), ("adapter", "adapter b"), ("bracket", "bracket copy")])
    def test_the_user_is_asked_which(self, measured, bench, names, apart, tmp_path):
        found = measured(pair(bench, names, apart))
        assert found.drive_axis is None
        assert "2 bodies are equally good as the adapter" in found.unsettled.reason
        assert "#1" in found.unsettled.reason
        assert "#2" in found.unsettled.reason
        made = findings(found, tmp_path)
        assert {finding.status for finding in made} == {"not-checked"}
        assert made[0].message == found.unsettled.reason

    @pytest.mark.parametrize("apart", PLACES[1:])
    @pytest.mark.parametrize(("which", "other"), [(1, 2), (2, 1)])
    def test_a_number_tells_bodies_of_one_name_apart(self, measured, bench, apart, which, other):
        found = measured(pair(bench, ("one", "two"), apart), MeasureOptions(adapter=(f"#{which}",)))
        assert [found.bodies[which - 1].role, found.bodies[other - 1].role] == ["adapter", "other"]
        first, second = found.ends
        assert (first.seat, second.seat) == pytest.approx((0.0, 60.0), abs=NM)
        # The middle of the adapter, which is at (0, 0, 30) before both were turned and moved.
        middle = V(0, 0, 30) + (V(*apart) if which == 2 else V())
        place = cq.Vertex.makeVertex(*middle.toTuple()).rotate(V(), V(1, 2, -0.5), 37).translate(V(12, -40, 9))
        assert found.point(30.0) == pytest.approx(place.toTuple(), abs=NM)

    @pytest.mark.parametrize("which", [0, 1])
    @pytest.mark.parametrize("names", [("one", "two"), ("adapter", "adapter b")])
    def test_a_point_tells_those_apart_that_lie_on_lines_of_their_own(self, measured, bench, which, names):
        point = cq.Vertex.makeVertex(100.0 * which + 3.0, 0.0, 0.0)
        place = point.rotate(V(), V(1, 2, -0.5), 37).translate(V(12, -40, 9)).toTuple()
        found = measured(pair(bench, names, PLACES[1]), MeasureOptions(axis_near=place))
        assert len(found.ends) == 2
        line = cq.Vertex.makeVertex(100.0 * which, 0.0, 0.0).rotate(V(), V(1, 2, -0.5), 37).translate(V(12, -40, 9))
        axis = found.drive_axis
        away = V(*line.toTuple()) - V(*axis.origin)
        assert away.cross(V(*axis.direction)).Length < NM

    def test_an_adapter_of_one_body_is_not_asked_about(self, measured, bench):
        assert measured(bench.housing()).unsettled is None


class TestGivenLine:
    """`axis: {point, direction}` overrides what was found."""

    @pytest.mark.parametrize(("sign", "first"), [(1.0, 38.1), (-1.0, 34.0)])
    @pytest.mark.parametrize("aside", [0.0, 0.2, -0.3])
    def test_the_direction_tells_the_motors_end(self, measured, bench, sign, first, aside):
        options = MeasureOptions(axis_point=(aside, 0.0, 17.0), axis_direction=(0.0, 0.0, 3.0 * sign))
        found = measured(bench.housing(), options)
        assert found.drive_axis.direction == pytest.approx((0.0, 0.0, sign), abs=1e-9)
        # Bores beside the given line give its exact place.
        assert found.drive_axis.origin[:2] == pytest.approx((0.0, 0.0), abs=NM)
        assert found.ends[0].pilot.diameter == pytest.approx(first, abs=NM)

    def test_it_settles_which_of_two_lines(self, measured, bench):
        both = bench.assembly({"adapter": bench.housing(), "adapter b": bench.housing().translate(V(90, 0, 0))})
        found = measured(both, MeasureOptions(axis_point=(90.0, 0.0, 0.0), axis_direction=(0.0, 0.0, 1.0)))
        assert found.drive_axis.origin == pytest.approx((90.0, 0.0, 0.0), abs=NM)
        assert len(found.ends) == 2

    @pytest.mark.parametrize("direction", [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, -2.0, 0.0)])
    def test_without_a_seat_the_point_is_station_0(self, measured, direction):
        block = cq.Workplane().box(60, 50, 40).translate((0, 0, 100)).val()
        found = measured(block, MeasureOptions(axis_point=(1.0, 2.0, 3.0), axis_direction=direction))
        assert found.drive_axis.origin == pytest.approx((1.0, 2.0, 3.0))
        assert [(end.role, end.seat, end.pilot, end.on_adapter) for end in found.ends] == [("motor", 0.0, None, False)]
        assert any("no seat was found on the drive axis that the job gives" in text for text in found.warnings)

    @pytest.mark.parametrize(
        ("text", "wrong"),
        [
            ("{point: [0, 0, 0]}", "axis.direction"),
            ("{direction: [0, 0, 1]}", "axis.point"),
            ("{point: [0, 0, 0], direction: [0, 0, 0]}", "not all 0"),
        ],
    )
    def test_half_a_line_is_a_wrong_job(self, measured, bench, tmp_path, text, wrong):
        from fitcheck.errors import JobError

        job = tmp_path / "job.fit.yaml"
        whole = job_template(measured(bench.housing()), "part.step")
        job.write_text(f"axis: {text}\n{whole}", encoding="utf-8")
        with pytest.raises(JobError, match=wrong):
            load_job(str(job))


class TestNoAdapter:
    """A wrong file says once what it looks like; the other checks point there."""

    @pytest.mark.parametrize("turn", [0.0, 37.0])
    @pytest.mark.parametrize("name", ["NEMA 23", "adapter", "thing"])
    def test_a_motor_alone(self, measured, tmp_path, turn, name, bench):
        machine = MachineBody(
            flange_size=(60.0, 60.0), flange_thickness=5.0, body_size=(56.0, 56.0), body_length=60.0, body="round",
            register_diameter=38.1, register_height=1.6, shaft=ShaftEnd(diameter=8.0, length=21.0),
        )  # fmt: skip
        body = motor(machine).rotate(V(), V(1, 2, -0.5), turn)
        found = measured(bench.assembly({name: body}))
        assert found.drive_axis is None
        assert "looks like a machine" in found.unsettled.reason
        assert "shaft 8.000 mm, 21.000 mm long" in found.unsettled.reason
        assert "register 38.100 x 1.600 mm" in found.unsettled.reason

    @pytest.mark.parametrize("holes", [0, 1, 3])
    def test_a_plain_block(self, measured, tmp_path, holes):
        block = cq.Workplane().box(80, 50, 40)
        for index in range(holes):
            block = block.faces(">Z").workplane(origin=(20.0 * index - 20.0, 0.0, 0.0)).hole(4.0)
        found = measured(block.val())
        assert f"1 body with {6 + holes} faces (6 plane) and {holes} round holes" in found.unsettled.reason
        made = findings(found, tmp_path)
        assert [finding.check for finding in made[: len(CHECKS)]] == list(CHECKS)
        assert len({finding.message for finding in made[: len(CHECKS)]}) == 2
        assert made[0].message == found.unsettled.reason
        assert "axis.near" not in "".join(f"{finding.message}{finding.remedy}" for finding in made)
        for one, two in itertools.pairwise(made[1 : len(CHECKS)]):
            assert one.message == two.message == f"no drive axis was found in the file; see {made[0].check}"
