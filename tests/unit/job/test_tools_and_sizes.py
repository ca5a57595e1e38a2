import pytest

from fitcheck.errors import JobError
from fitcheck.job.load import parse_job

HUB = "{bore: 8, bore_length: 12, screws: [%s]}"
JOB = """step: a.step
coupling:
  family: disc
  outside_diameter: 30
  length: 42
  hubs:
    motor: %s
    actuator: {bore: 8, bore_length: 12}
require:
  tools: [T-handle, hex key long arm]
  key_swing: 45
  own_tools:
    - %s
tolerances: {motor_shaft: 0.2, judge: worst case}
"""
SCREW = "{size: M3, direction: to outer face, station: 0, offset: 10}"
TOOL = "{name: slim driver, sections: [{diameter: 3.5, length: 60}], arm: {length: 40, diameter: 12, sides: both}}"


def job(screw=SCREW, tool=TOOL):
    return parse_job(JOB % (HUB % screw, tool), "z.fit.yaml", ".").job


def test_tools_and_tolerances_are_read():
    found = job()
    assert found.coupling.hubs.motor.screws[0].direction == "to outer face"
    (own,) = found.require.own_tools
    assert (own.name, own.sections[0].length, own.arm.sides) == ("slim driver", 60.0, "both")
    assert (found.require.tools, found.require.key_swing) == (("T-handle", "hex key long arm"), 45.0)
    assert (found.tolerances.motor_shaft, found.tolerances.judge, found.tolerances.place) == (0.2, "worst case", 0.2)


@pytest.mark.parametrize(
    ("screw", "tool", "message"),
    [
        (SCREW.replace("offset: 10", "offset: 5"), TOOL, "found a bolt circle radius of 5 mm for the M3 screw"),
        (
            SCREW.replace("station: 0", "station: 13"),
            TOOL,
            "found the head's outer end 13 mm from",
        ),
        (SCREW.replace("M3,", "M3, kind: set screw,"), TOOL, "found a set screw along the drive axis"),
        (SCREW.replace("to outer face", "outwards"), TOOL, "needed is one of: across, to outer face, to other hub"),
        (SCREW, "{name: slim driver, sections: []}", "own_tools.0.sections"),
    ],
)
def test_refusals(screw, tool, message):
    with pytest.raises(JobError, match=r"z\.fit\.yaml:\d+: ") as caught:
        job(screw, tool)
    assert message in str(caught.value)
