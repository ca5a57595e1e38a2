"""Adapters against closed forms: volumes, places of bores, refusals. Every volume is derived beside its check."""

from dataclasses import replace
from math import asin, cos, degrees, pi, radians, sqrt

import cadquery as cq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepAdaptor import BRepAdaptor_Surface

from parametric_models.adapters import (
    Foot,
    Holes,
    Housing,
    LBracket,
    Plate,
    Seat,
    Standoffs,
    TwoPiece,
    UBracket,
    Waist,
    Window,
    housing,
    l_bracket,
    plate,
    standoffs,
    two_piece,
    u_bracket,
)


def disc(diameter: float, length: float) -> float:
    return pi / 4 * diameter**2 * length


def bores(shape: cq.Shape, diameter: float) -> list[tuple[cq.Vector, cq.Vector]]:
    """Origin and direction of the axis of every cylindrical face of a diameter."""
    found = []
    for face in shape.Faces():
        if face.geomType() == "CYLINDER":
            surface = BRepAdaptor_Surface(face.wrapped).Cylinder()
            if abs(2 * surface.Radius() - diameter) < 1e-9:
                axis = surface.Axis()
                found.append((cq.Vector(axis.Location()), cq.Vector(axis.Direction())))
    return found


MOTOR = Seat(pilot_diameter=38.13, pilot_depth=2.2, opening_diameter=34.0, opening_length=3.0)
ACTUATOR = Seat(pilot_diameter=36.03, pilot_depth=2.6, opening_diameter=30.0, opening_length=3.0)
ROUND = Housing(length=58.0, size=62.0, outside="round", chamber_diameter=36.0, motor=MOTOR, actuator=ACTUATOR)
SQUARE = replace(ROUND, outside="square", size=60.0)
INSIDE = disc(38.13, 2.2) + disc(34, 3) + disc(36, 58 - 2.2 - 3 - 3 - 2.6) + disc(30, 3) + disc(36.03, 2.6)


def test_round_housing_is_a_bar_less_its_bores():
    made = housing(ROUND)
    assert made.isValid()
    assert made.Volume() == pytest.approx(disc(62, 58) - INSIDE, rel=1e-9)


def test_square_housing_with_chamfers_holes_and_lead_in():
    # Four chamfers c take 4 * c²/2; the lead-in is a frustum less the bore that it widens.
    tapped = Holes(layout="square", size=(47.14,), diameter=4.2, depth=14.0)
    light = Holes(layout="circle", size=(52.0,), diameter=4.0, count=3, start_angle=10.0)
    made = housing(
        replace(SQUARE, edge_chamfer=2.0, lightening=(light,), motor=replace(MOTOR, pilot_chamfer=0.3, holes=(tapped,)))
    )
    lead_in = pi * 0.3 / 3 * ((r := 38.13 / 2) ** 2 + r * (r + 0.3) + (r + 0.3) ** 2) - disc(38.13, 0.3)
    expected = (3600 - 8) * 58 - INSIDE - 4 * disc(4.2, 14) - 3 * disc(4.0, 58) - lead_in
    assert made.isValid()
    assert made.Volume() == pytest.approx(expected, rel=1e-9)


def wall_behind_window(width: float, radius: float, half: float) -> float:
    """Area across the axis between a chamber and a flat wall: integral of half - sqrt(radius² - y²) over the width."""
    y = width / 2
    return half * width - (y * sqrt(radius**2 - y**2) + radius**2 * asin(y / radius))


def test_rectangular_window_takes_the_wall_before_it():
    window = Window(station=30.0, length=12.0, width=10.0)
    made = housing(replace(SQUARE, windows=(window,)))
    assert made.Volume() == pytest.approx(3600 * 58 - INSIDE - 12 * wall_behind_window(10, 18, 30), rel=1e-9)


@pytest.mark.parametrize("angle", [0.0, 90.0, 180.0, 270.0])
def test_window_lies_left_of_its_direction(angle):
    # Seen from the axis outwards with the axis up, left is z × u = (-sin, cos): the hole in the wall is there.
    window = Window(station=30.0, length=12.0, width=12.0, shape="round", angle=angle, offset=9.0)
    made = housing(replace(SQUARE, windows=(window,)))
    ((origin, direction),) = bores(made, 12.0)
    u = cq.Vector(cos(radians(angle)), 0, 0) + cq.Vector(0, 1, 0) * (
        0 if angle % 180 == 0 else (1 if angle < 180 else -1)
    )
    n = cq.Vector(0, 0, 1).cross(u)
    assert abs(direction.dot(u)) == pytest.approx(1)
    assert origin.dot(n) == pytest.approx(9.0)
    assert origin.z == pytest.approx(30.0)


def test_slot_window_along_the_axis_and_across_take_the_same_area_of_a_flat():
    # The plane outer face at x = 30 loses the slot's area whichever way the slot lies.
    area = pi / 4 * 64 + 8 * (14 - 8)
    for length, width in ((14.0, 8.0), (8.0, 14.0)):
        made = housing(replace(SQUARE, windows=(Window(station=30.0, length=length, width=width, shape="slot"),)))
        face = next(f for f in made.Faces() if f.geomType() == "PLANE" and f.Center().x > 29.9)
        assert face.Area() == pytest.approx(60 * 58 - area, rel=1e-9)
        low, high = face.innerWires()[0].BoundingBox().zmin, face.innerWires()[0].BoundingBox().zmax
        assert high - low == pytest.approx(length)


def test_waisted_housing_with_through_holes_in_its_flanges():
    through = Holes(layout="square", size=(47.14,), diameter=5.5)
    p = replace(
        SQUARE,
        waist=Waist(diameter=48.0, motor_flange=8.0, actuator_flange=7.0),
        motor=replace(MOTOR, holes=(through,)),
    )
    made = housing(p)
    expected = 3600 * 15 + disc(48, 58 - 15) - INSIDE - 4 * disc(5.5, 8)
    assert made.isValid()
    assert made.Volume() == pytest.approx(expected, rel=1e-9)


def test_shifted_actuator_end_moves_pilot_opening_and_holes():
    holes = Holes(layout="circle", size=(50.0,), diameter=3.3, depth=8.0, start_angle=45.0)
    made = housing(replace(SQUARE, actuator=replace(ACTUATOR, holes=(holes,)), actuator_offset=(0.1, -0.2)))
    for diameter in (36.03, 30.0):
        ((origin, _),) = bores(made, diameter)
        assert (origin.x, origin.y) == pytest.approx((0.1, -0.2))
    centres = [origin for origin, _ in bores(made, 3.3)]
    assert sum(c.x for c in centres) / 4 == pytest.approx(0.1)
    ((motor, _),) = bores(made, 38.13)
    assert (motor.x, motor.y) == pytest.approx((0.0, 0.0))


@pytest.mark.parametrize("tilted_seat", [True, False])
def test_tilted_actuator_end(tilted_seat):
    made = housing(replace(SQUARE, actuator_tilt=0.4, tilt_direction=30.0, tilted_seat=tilted_seat))
    assert made.isValid()
    ((_, direction),) = bores(made, 36.03)
    assert degrees(direction.getAngle(cq.Vector(0, 0, 1))) % 180 == pytest.approx(0.4) or degrees(
        direction.getAngle(cq.Vector(0, 0, -1))
    ) == pytest.approx(0.4)
    # Turning about the line at 30° leaves the direction across that line.
    assert direction.dot(cq.Vector(cos(radians(30)), 0.5, 0)) == pytest.approx(0.0, abs=1e-12)
    top = max((f for f in made.Faces() if f.geomType() == "PLANE"), key=lambda f: f.Center().z)
    assert degrees(top.normalAt().getAngle(cq.Vector(0, 0, 1))) == pytest.approx(0.4 if tilted_seat else 0.0, abs=1e-9)


def test_plate_with_two_seats_and_counterbores():
    screwed = Holes(
        layout="rectangle", size=(60.0, 40.0), diameter=5.5, counterbore_diameter=10.0, counterbore_depth=4.0
    )
    made = plate(
        Plate(
            width=80.0, height=60.0, thickness=12.0, motor=replace(MOTOR, opening_length=None),
            actuator=Seat(pilot_diameter=36.03, pilot_depth=2.6, opening_diameter=30.0), lightening=(screwed,),
        )
    )  # fmt: skip
    # The opening of 34 runs through; the actuator's pilot of 36.03 is 2.6 deep in the other face.
    expected = 80 * 60 * 12 - disc(38.13, 2.2) - disc(34, 12 - 2.2 - 2.6) - disc(36.03, 2.6)
    expected -= 4 * (disc(5.5, 8) + disc(10, 4))
    assert made.isValid()
    assert made.Volume() == pytest.approx(expected, rel=1e-9)


FOOT = Foot(
    axis_height=34.0, thickness=9.0, hole_diameter=6.6, hole_spacing=40.0, hole_stations=(22.0, 40.0),
    counterbore_diameter=11.0, counterbore_depth=5.0,
)  # fmt: skip
FOOT_HOLES = 4 * (disc(6.6, 4) + disc(11, 5))


@pytest.mark.parametrize("gusset", [0.0, 5.0])
def test_l_bracket(gusset):
    motor = replace(MOTOR, opening_length=None)
    made = l_bracket(
        LBracket(width=64.0, top=30.0, thickness=8.0, foot=FOOT, foot_length=60.0, motor=motor, gusset=gusset)
    )
    expected = 64 * 64 * 8 + 64 * 9 * 52 - disc(38.13, 2.2) - disc(34, 5.8) - FOOT_HOLES
    expected += 2 * gusset * 52 * (30 * 0.6) / 2
    assert made.isValid()
    assert made.Volume() == pytest.approx(expected, rel=1e-9)
    assert made.BoundingBox().zmin == pytest.approx(0, abs=1e-6)


def test_u_bracket():
    motor, actuator = replace(MOTOR, opening_length=None), replace(ACTUATOR, opening_length=None)
    made = u_bracket(
        UBracket(
            width=64.0, top=30.0, length=60.0, motor_plate=8.0, actuator_plate=7.0, foot=FOOT, motor=motor,
            actuator=actuator, actuator_offset=(0.0, 0.1),
        )
    )  # fmt: skip
    expected = 64 * 64 * 15 + 64 * 9 * 45 - FOOT_HOLES
    expected -= disc(38.13, 2.2) + disc(34, 5.8) + disc(36.03, 2.6) + disc(30, 4.4)
    assert made.isValid()
    assert made.Volume() == pytest.approx(expected, rel=1e-9)
    ((origin, _),) = bores(made, 36.03)
    assert origin.y == pytest.approx(0.1)


def test_standoffs_are_separate_bodies():
    motor, actuator = replace(MOTOR, opening_length=None), replace(ACTUATOR, opening_length=None)
    posts = Holes(layout="square", size=(66.0,), diameter=5.5)
    bodies = standoffs(
        Standoffs(
            width=80.0, height=80.0, length=58.0, motor_plate=6.0, actuator_plate=7.0, motor=motor, actuator=actuator,
            posts=posts, post_diameter=10.0,
        )
    )  # fmt: skip
    assert list(bodies) == ["motor plate", "actuator plate", "standoff 1", "standoff 2", "standoff 3", "standoff 4"]
    assert all(body.isValid() for body in bodies.values())
    low = 6400 * 6 - disc(38.13, 2.2) - disc(34, 3.8) - 4 * disc(5.5, 6)
    high = 6400 * 7 - disc(36.03, 2.6) - disc(30, 4.4) - 4 * disc(5.5, 7)
    post = disc(10, 45) - disc(5.5, 45)
    volumes = [body.Volume() for body in bodies.values()]
    assert volumes == pytest.approx([low, high, post, post, post, post], rel=1e-9)


def test_two_pieces_make_the_whole_less_the_play():
    p = TwoPiece(whole=SQUARE, joint=30.0, spigot_diameter=46.0, spigot_length=4.0, play=0.02, end_gap=0.3)
    bodies = two_piece(p)
    assert all(body.isValid() for body in bodies.values())
    gap = disc(46.02, 4.3) - disc(46, 4) - disc(36, 0.3)
    assert sum(b.Volume() for b in bodies.values()) == pytest.approx(housing(SQUARE).Volume() - gap, rel=1e-9)
    assert bodies["actuator piece"].BoundingBox().zmin == pytest.approx(26.0, abs=1e-6)
    assert bodies["motor piece"].BoundingBox().zmax == pytest.approx(30.0, abs=1e-6)
    assert bodies["motor piece"].intersect(bodies["actuator piece"]).Volume() == pytest.approx(0.0, abs=1e-9)


def test_holes_know_their_centres():
    circle = Holes(layout="circle", size=(50.0,), diameter=4.0, count=3, start_angle=90.0)
    assert circle.centres()[0] == pytest.approx((0.0, 25.0))
    assert all(sqrt(x * x + y * y) == pytest.approx(25.0) for x, y in circle.centres())
    assert set(Holes(layout="rectangle", size=(46.0, 42.0), diameter=5.5).centres()) == {
        (23.0, 21.0), (-23.0, 21.0), (-23.0, -21.0), (23.0, -21.0),
    }  # fmt: skip


@settings(max_examples=12, deadline=None)
@given(
    size=st.floats(50, 90), length=st.floats(30, 90), chamber=st.floats(20, 45), opening=st.floats(15, 40),
    step=st.floats(0.5, 6), depth=st.floats(1, 4), land=st.floats(0, 4),
)  # fmt: skip
def test_any_housing_is_valid_and_measures_as_given(size, length, chamber, opening, step, depth, land):
    seat = Seat(pilot_diameter=opening + step, pilot_depth=depth, opening_diameter=opening, opening_length=land)
    made = housing(Housing(length=length, size=size, chamber_diameter=chamber, motor=seat, actuator=seat))
    end = disc(opening + step, depth) + disc(opening, land)
    expected = size**2 * length - 2 * end - disc(chamber, length - 2 * (depth + land))
    assert made.isValid()
    assert made.Volume() == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize(
    ("make", "text"),
    [
        (
            lambda: Holes(layout="star", size=(50.0,), diameter=4.0),
            "layout is 'star'; it must be one of circle, square",
        ),
        (lambda: Holes(layout="rectangle", size=(50.0,), diameter=4.0), "size has 1 values; a rectangle takes 2"),
        (lambda: Holes(layout="square", size=(50.0,), diameter=4.0, count=6), "count is 6; a square has exactly 4"),
        (
            lambda: Holes(layout="circle", size=(20.0,), diameter=12.0, count=8),
            "diameter is 12 mm; it must be more than 0",
        ),
        (
            lambda: Holes(layout="square", size=(40.0,), diameter=4.0, depth=8.0, counterbore_diameter=8.0),
            "counterbore_diameter is given for a blind hole",
        ),
        (lambda: replace(MOTOR, pilot_diameter=33.0), "pilot_diameter is 33 mm; it must be more than 34 mm"),
        (
            lambda: replace(MOTOR, pilot_chamfer=3.0),
            "pilot_chamfer is 3 mm; it must be at least 0 mm and at most 2.2 mm",
        ),
        (
            lambda: replace(MOTOR, holes=(Holes(layout="square", size=(28.0,), diameter=4.0),)),
            "holes diameter is 4 mm; it must be more than 0 mm and at most 1.06",
        ),
        (
            lambda: replace(SQUARE, chamber_diameter=61.0),
            "chamber_diameter is 61 mm; it must be more than 0 mm and at most 59 mm",
        ),
        (lambda: replace(SQUARE, length=10.0), "length is 10 mm; it must be at least 10.9 mm"),
        (lambda: replace(SQUARE, motor=replace(MOTOR, opening_length=None)), "motor opening_length is missing"),
        (
            lambda: replace(SQUARE, windows=(Window(station=5.0, length=12.0, width=8.0),)),
            "window station is 5 mm; it must be at least 6.1 mm and at most 51.9 mm",
        ),
        (
            lambda: replace(SQUARE, actuator_tilt=9.0),
            "actuator_tilt is 9 degrees; it must be at least -5 degrees and at most 5 degrees",
        ),
        (lambda: Window(station=5.0, length=12.0, width=8.0, shape="round"), "a round window's must equal its length"),
        (lambda: Window(station=5.0, length=8.0, width=8.0, shape="slot"), "a slot of that size is shape 'round'"),
        (
            lambda: TwoPiece(whole=SQUARE, joint=6.0, spigot_diameter=46.0, spigot_length=4.0),
            "joint is 6 mm; it must be at least 10 mm and at most 51.9 mm",
        ),
        (
            lambda: Plate(width=60.0, height=38.0, thickness=8.0, motor=replace(MOTOR, opening_length=None)),
            "motor pilot or opening diameter is 38.13 mm; it must be at least 0 mm and at most 37 mm",
        ),
        (
            lambda: replace(FOOT, thickness=40.0),
            "foot thickness is 40 mm; it must be more than 0 mm and at most 33.5 mm",
        ),
        (lambda: replace(SQUARE, size=float("nan")), "size is nan mm; it must be more than 0 mm"),
    ],
)
def test_impossible_dimensions_are_refused_with_the_range_that_works(make, text):
    with pytest.raises(ValueError, match=text.replace("(", r"\(")):
        make()


def test_windows_that_cut_the_housing_apart_are_refused():
    # The windows' corners at (30.5, 30.5) lie outside the bar's radius of 31: nothing is left between the ends.
    ring = tuple(Window(station=30.0, length=10.0, width=61.0, angle=angle) for angle in (0.0, 90.0, 180.0, 270.0))
    with pytest.raises(ValueError, match="the dimensions of this housing leave 2 pieces"):
        housing(replace(ROUND, windows=ring))
