"""Writes the STEP files of the sample assemblies: `python sample_assemblies/regenerate.py [--into FOLDER] [NAME...]`.

Everything here is invented: the Z and the X drive of a soil-core sampling gantry in a greenhouse research station.
The numbers of each sample are worked out in the comments of its job file. Needs only `parametric_models`; the job
files are written by hand and left alone. Lengths mm.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cadquery as cq

from parametric_models.adapters import (
    Foot,
    Holes,
    Housing,
    LBracket,
    Seat,
    Standoffs,
    TwoPiece,
    UBracket,
    Waist,
    Window,
    housing,
    l_bracket,
    standoffs,
    two_piece,
    u_bracket,
)
from parametric_models.adapters.features import round_window
from parametric_models.faces import moved, write_step
from parametric_models.machines import MachineBody, ShaftEnd, ShaftFlat, actuator, actuator_parts, motor, motor_parts

HERE = Path(__file__).resolve().parent
INCH = 25.4

# Z drive: a square block, 58 mm long. The coupling (outside diameter 32) goes in through the motor's opening, 34.
Z_MOTOR = Seat(
    pilot_diameter=38.13, pilot_depth=2.2, pilot_chamfer=0.3, opening_diameter=34.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=4.2, depth=14.0),),
)  # fmt: skip
Z_ACTUATOR = Seat(
    pilot_diameter=36.03, pilot_depth=2.6, pilot_chamfer=0.3, opening_diameter=30.0, opening_length=3.0,
    holes=(Holes(layout="circle", size=(50.0,), diameter=3.3, depth=8.0, start_angle=45.0),),
)  # fmt: skip
Z_ADAPTER = Housing(
    length=58.0, size=60.0, chamber_diameter=36.0, motor=Z_MOTOR, actuator=Z_ACTUATOR, edge_chamfer=2.0,
    windows=(round_window(14.0, 12.0, offset=9.0), round_window(44.0, 12.0, offset=9.0)),
)  # fmt: skip

# X drive: two flanges and a round waist, 62 mm long; the coupling's outside diameter is 34.
X_MOTOR = Seat(
    pilot_diameter=38.13, pilot_depth=2.4, pilot_chamfer=0.3, opening_diameter=36.0, opening_length=3.0,
    holes=(Holes(layout="square", size=(47.14,), diameter=5.5),),
)  # fmt: skip
X_ACTUATOR = Seat(
    pilot_diameter=36.03, pilot_depth=2.6, pilot_chamfer=0.3, opening_diameter=32.0, opening_length=3.0,
    holes=(Holes(layout="rectangle", size=(46.0, 42.0), diameter=5.5),),
)  # fmt: skip


def x_window(station: float) -> Window:
    return Window(station=station, length=13.0, width=14.0, offset=10.0, corner_radius=2.0)


X_ADAPTER = Housing(
    length=62.0, size=60.0, chamber_diameter=38.0, motor=X_MOTOR, actuator=X_ACTUATOR, edge_chamfer=2.0,
    waist=Waist(diameter=48.0, motor_flange=8.0, actuator_flange=8.0), windows=(x_window(15.5), x_window(46.5)),
)  # fmt: skip

# The motor and the actuator of the Z drive, as bodies.
MOTOR = MachineBody(
    flange_size=(56.4, 56.4), flange_thickness=5.0, body_size=(54.0, 54.0), body_length=70.0, body="round",
    register_diameter=38.1, register_height=1.6,
    holes=(Holes(layout="square", size=(47.14,), diameter=5.1),),
    shaft=ShaftEnd(diameter=8.0, length=21.0, chamfer=0.5),
)  # fmt: skip
ACTUATOR = MachineBody(
    flange_size=(60.0, 60.0), flange_thickness=10.0, body_size=(58.0, 40.0), body_length=140.0,
    register_diameter=36.0, register_height=2.0,
    holes=(Holes(layout="circle", size=(50.0,), diameter=4.5, start_angle=45.0),),
    shaft=ShaftEnd(diameter=10.0, length=21.0, chamfer=0.5),
)  # fmt: skip


def along_x(shape: cq.Shape) -> cq.Shape:
    """The X drive lies along the file's x direction."""
    return moved(shape, axis=(0.0, 1.0, 0.0), angle=90.0)


def together(name: str, bodies: dict[str, cq.Solid]) -> cq.Assembly:
    """Bodies, in place, as one product."""
    assembly = cq.Assembly(name=name)
    for part, body in bodies.items():
        assembly.add(body, name=part)
    return assembly


def z_passes() -> cq.Shape:
    return housing(Z_ADAPTER)


def z_opening_too_small() -> cq.Shape:
    return housing(replace(Z_ADAPTER, motor=replace(Z_MOTOR, opening_diameter=31.0)))


def z_screw_head_rubs() -> cq.Shape:
    # The opening is as wide as the chamber: the protruding head goes in, but it does not turn freely.
    return housing(replace(Z_ADAPTER, motor=replace(Z_MOTOR, opening_diameter=36.0)))


def z_full_assembly() -> cq.Assembly:
    lightening = Holes(layout="rectangle", size=(20.0, 50.0), diameter=6.0)
    drive = cq.Assembly(name="z-drive")
    drive.add(housing(replace(Z_ADAPTER, lightening=(lightening,))), name="adapter", color=cq.Color(0.7, 0.7, 0.75))
    drive.add(together("motor", {f"motor {k}": v for k, v in motor_parts(MOTOR).items()}))
    parts = actuator_parts(ACTUATOR, Z_ADAPTER.length)
    drive.add(together("actuator", {f"actuator {k}": v for k, v in parts.items()}))
    return drive


def z_flat_shaft() -> cq.Assembly:
    shaft = ShaftEnd(diameter=8.0, length=21.0, chamfer=0.5, flat=ShaftFlat(length=15.0, height=7.5))
    # The set screw that holds on the flat points at the axis, and so does its window.
    windows = (round_window(14.0, 12.0), round_window(44.0, 12.0, offset=9.0))
    drive = together("z-drive", {"adapter": housing(replace(Z_ADAPTER, windows=windows))})
    drive.add(together("motor", {f"motor {k}": v for k, v in motor_parts(replace(MOTOR, shaft=shaft)).items()}))
    return drive


def x_passes() -> cq.Shape:
    return along_x(housing(X_ADAPTER))


def x_window_misses_screw() -> cq.Shape:
    return along_x(housing(replace(X_ADAPTER, windows=(x_window(31.0),))))


def x_plugs_together() -> cq.Shape:
    # No window, and an actuator's opening that passes a hub: the halves of the coupling come with their machines.
    actuator = replace(X_ACTUATOR, opening_diameter=35.0)
    return along_x(housing(replace(X_ADAPTER, actuator=actuator, windows=())))


def x_pilot_shifted() -> cq.Shape:
    return along_x(housing(replace(X_ADAPTER, actuator_offset=(0.0, 0.1))))


def x_in_inches() -> cq.Shape:
    motor = Seat(
        pilot_diameter=1.501 * INCH, pilot_depth=0.09 * INCH, opening_diameter=1.375 * INCH,
        opening_length=0.125 * INCH,
        holes=(Holes(layout="square", size=(1.856 * INCH,), diameter=0.1495 * INCH, depth=0.5 * INCH),),
    )  # fmt: skip
    actuator = Seat(
        pilot_diameter=1.376 * INCH, pilot_depth=0.09 * INCH, opening_diameter=1.25 * INCH,
        opening_length=0.125 * INCH,
        holes=(Holes(layout="circle", size=(2.0 * INCH,), diameter=0.1495 * INCH, depth=0.3 * INCH, start_angle=45.0),),
    )  # fmt: skip
    windows = tuple(round_window(s * INCH, 0.5 * INCH, offset=0.34 * INCH) for s in (0.5625, 1.6625))
    block = Housing(
        length=2.25 * INCH, size=2.375 * INCH, chamber_diameter=1.4375 * INCH, motor=motor, actuator=actuator,
        windows=windows, edge_chamfer=0.08 * INCH,
    )  # fmt: skip
    return housing(block)


def x_l_bracket() -> cq.Shape:
    foot = Foot(
        axis_height=34.0, thickness=9.0, hole_diameter=6.6, hole_spacing=40.0, hole_stations=(22.0, 62.0),
        counterbore_diameter=11.0, counterbore_depth=5.0,
    )  # fmt: skip
    seat = replace(X_MOTOR, opening_length=None)
    return along_x(
        l_bracket(LBracket(width=64.0, top=32.0, thickness=9.0, foot=foot, foot_length=74.0, motor=seat, gusset=5.0))
    )


def x_bearing_block() -> cq.Assembly:
    # Home-made: a short L-bracket for the motor, and a bearing block with the screw's turned-down end, free-standing.
    foot = Foot(
        axis_height=34.0, thickness=9.0, hole_diameter=6.6, hole_spacing=40.0, hole_stations=(20.0, 40.0),
        counterbore_diameter=11.0, counterbore_depth=5.0,
    )  # fmt: skip
    seat = replace(X_MOTOR, opening_length=None)
    bracket = LBracket(width=64.0, top=32.0, thickness=9.0, foot=foot, foot_length=52.0, motor=seat, gusset=5.0)
    block = MachineBody(
        flange_size=(50.0, 60.0), flange_thickness=20.0, body_size=(20.0, 20.0), body_length=120.0, body="round",
        shaft=ShaftEnd(diameter=10.0, length=20.0, chamfer=0.5),
    )  # fmt: skip
    bodies = {"bracket": l_bracket(bracket), "stepper": motor(MOTOR), "bearing block": actuator(block, 57.0)}
    return together("x-axis", {name: along_x(body) for name, body in bodies.items()})


def x_two_piece() -> cq.Assembly:
    # Joint between the windows: they end at station 22 and begin again at 40.
    parts = two_piece(TwoPiece(whole=X_ADAPTER, joint=33.0, spigot_diameter=43.0, spigot_length=3.0))
    turned = {f"housing {name}": along_x(body) for name, body in parts.items()}
    return together("x-housing", turned)


def z_standoffs() -> cq.Assembly:
    return on_standoffs(58.0)


def z_disc_spacer() -> cq.Assembly:
    return on_standoffs(84.0)


def on_standoffs(length: float) -> cq.Assembly:
    motor = replace(Z_MOTOR, opening_length=None, holes=(Holes(layout="square", size=(47.14,), diameter=5.5),))
    actuator = replace(
        Z_ACTUATOR, opening_length=None,
        holes=(Holes(layout="circle", size=(50.0,), diameter=4.5, start_angle=45.0),),
    )  # fmt: skip
    posts = Holes(layout="square", size=(66.0,), diameter=5.5)
    frame = standoffs(
        Standoffs(
            width=80.0, height=80.0, length=length, motor_plate=6.0, actuator_plate=6.0, motor=motor, actuator=actuator,
            posts=posts, post_diameter=10.0,
        )
    )  # fmt: skip
    return together("z-frame", {f"frame {name}": body for name, body in frame.items()})


def x_u_bracket() -> cq.Shape:
    foot = Foot(
        axis_height=34.0, thickness=9.0, hole_diameter=6.6, hole_spacing=40.0, hole_stations=(20.0, 42.0),
        counterbore_diameter=11.0, counterbore_depth=5.0,
    )  # fmt: skip
    motor, actuator = replace(X_MOTOR, opening_length=None), replace(X_ACTUATOR, opening_length=None)
    return along_x(
        u_bracket(
            UBracket(
                width=64.0, top=32.0, length=62.0, motor_plate=8.0, actuator_plate=8.0, foot=foot, motor=motor,
                actuator=actuator,
            )
        )
    )  # fmt: skip


SAMPLES: dict[str, tuple[Callable[[], cq.Shape | cq.Assembly], str, str]] = {
    "passing/z-passes": (z_passes, "mm", "AP214"),
    "passing/z-full-assembly": (z_full_assembly, "mm", "AP242"),
    "passing/z-flat-shaft": (z_flat_shaft, "mm", "AP214"),
    "passing/z-standoffs": (z_standoffs, "mm", "AP214"),
    "passing/z-disc-spacer": (z_disc_spacer, "mm", "AP214"),
    "passing/z-with-drive": (z_passes, "mm", "AP214"),
    "passing/x-passes": (x_passes, "mm", "AP214"),
    "passing/x-in-inches": (x_in_inches, "inch", "AP203"),
    "passing/x-l-bracket": (x_l_bracket, "mm", "AP214"),
    "passing/x-u-bracket": (x_u_bracket, "mm", "AP203"),
    "passing/x-bearing-block": (x_bearing_block, "mm", "AP242"),
    "passing/x-two-piece": (x_two_piece, "mm", "AP214"),
    "passing/x-plugs-together": (x_plugs_together, "mm", "AP214"),
    "failing/z-opening-too-small": (z_opening_too_small, "mm", "AP214"),
    "failing/z-screw-head-rubs": (z_screw_head_rubs, "mm", "AP214"),
    "failing/z-shafts-touch": (z_passes, "mm", "AP214"),
    "failing/z-hub-slips": (z_passes, "mm", "AP214"),
    "failing/x-too-little-engagement": (x_passes, "mm", "AP214"),
    "failing/x-shaft-into-flexing-part": (x_passes, "mm", "AP214"),
    "failing/x-window-misses-screw": (x_window_misses_screw, "mm", "AP214"),
    "failing/x-pilot-shifted": (x_pilot_shifted, "mm", "AP214"),
}
"""Generator, unit and schema of every STEP file, by its path without the ending."""


def regenerate(folder: Path, names: list[str]) -> None:
    """Write the STEP files of the named samples, or of all, below a folder."""
    wanted = [path for path in SAMPLES if not names or path in names or Path(path).name in names]
    unknown = [name for name in names if not any(name in (path, Path(path).name) for path in SAMPLES)]
    if unknown:
        msg = f"no sample is called {', '.join(unknown)}; there are {', '.join(Path(p).name for p in SAMPLES)}"
        raise SystemExit(msg)
    for path in wanted:
        generator, unit, schema = SAMPLES[path]
        target = folder / f"{path}.step"
        target.parent.mkdir(parents=True, exist_ok=True)
        write_step(target, generator(), unit=unit, schema=schema, name=target.stem)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Write the STEP files of the sample assemblies again.")
    parser.add_argument("names", nargs="*", help="samples to write; all of them without one")
    parser.add_argument("--into", type=Path, default=HERE, help="folder to write to, by default this one")
    arguments = parser.parse_args()
    regenerate(arguments.into, arguments.names)
