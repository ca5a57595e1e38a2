"""Service factors of a job: by load class and direction; by starts and temperature of an elastomer; the maker's own."""

import pytest

JAW = ("family: double slit", "family: jaw"), ("    axial: 0.4", "    axial: 0.4\n    backlash: 0")
SERVICE = "  motor: {inertia"


def served(build, service, *changes):
    return build.work(build.job(*JAW, (SERVICE, f"  service: {{{service}}}\n{SERVICE}"), *changes))


def lasting(found):
    """The largest of rms, running and holding, taken from the plain case with its factor 1.5 for reversing."""
    return found["torque", "nominal"].value / 1.5


@pytest.mark.parametrize(
    ("service", "factor"),
    [
        # The table of load classes (common practice, no source) times 1.0 at 30 °C.
        ("load_class: uniform, direction: one way", 1.0),
        ("load_class: moderate shock", 2.0),
        ("load_class: heavy shock, direction: one way", 2.0),
        # Temperature factors as used with DIN 740-2 (memory).
        ("temperature: 50", 1.5 * 1.4),
        ("temperature: 70, load_class: moderate shock", 2.0 * 1.8),
        ("load_factor: 1.25, temperature_factor: 1.1", 1.25 * 1.1),
    ],
)
def test_lasting_torque(build, service, factor):
    plain = lasting(served(build, "temperature: 30"))
    assert served(build, service)["torque", "nominal"].value == pytest.approx(factor * plain, rel=1e-9)


@pytest.mark.parametrize(
    ("service", "factor"),
    [
        # Sz of DIN 740-2 (memory): up to 120, 240, 400, 800, 1600 starts an hour.
        ("starts_per_hour: 100", 1.0),
        ("starts_per_hour: 200", 1.3),
        ("starts_per_hour: 1000", 1.8),
        ("starts_per_hour: 200, temperature: 35", 1.3 * 1.2),
        ("start_factor: 2.5", 2.5),
    ],
)
def test_short_torques_through_an_elastomer(build, service, factor):
    found = served(build, service)
    assert found["torque", "blocked carriage"].value == pytest.approx(factor * 1.8)
    # Metal does not mind.
    changes = (SERVICE, f"  service: {{{service}}}\n{SERVICE}")
    metal = build.work(build.job(changes))["torque", "blocked carriage"]
    assert metal.value == pytest.approx(2.5 * 1.8 if "start_factor" in service else 1.8)


def test_starts_are_counted_from_the_cycle(build):
    # There and back: 2 starts in 2 x (250/150 + 150/1500 + 1) s: 1301 an hour, 1.8.
    starts = 3600 / (250 / 150 + 0.1 + 1)
    found = served(build, "temperature: 30")["torque", "peak"]
    assert f"1.8 for the elastomer at {starts:.0f} starts an hour" in found.message


def test_what_the_tables_do_not_hold_is_asked_for_and_leaves_the_rest(build):
    # Without a pause there are 2038 starts an hour, past the table's 1600; the lasting torque is judged all the same.
    found = served(build, "temperature: 30", ("pause: 1", "pause: 0"))
    assert found["torque", "nominal"].status == "pass"
    for subject in ("peak", "blocked carriage", "emergency stop"):
        short = found["torque", subject]
        assert (short.status, short.required) == ("not-checked", True)
        assert "2037.74 1/h is outside the table" in short.message
        assert "drive.service.start_factor" in short.remedy
    known = served(build, "start_factor: 2", ("pause: 1", "pause: 0"))
    assert known["torque", "blocked carriage"].value == pytest.approx(2 * 1.8)
    hot = served(build, "temperature: 95")
    assert hot["torque", "nominal"].status == hot["torque", "peak"].status == "not-checked"
    assert "drive.service.temperature_factor" in hot["torque", "nominal"].remedy
    assert served(build, "temperature: 95, temperature_factor: 2")["torque", "nominal"].status == "pass"


def test_factors_from_memory_or_practice_say_so(build):
    jaw = ("family: double slit", "family: jaw")
    found = build.work(build.job(jaw, ("  motor: {inertia", "  service: {temperature: 50}\n  motor: {inertia")))
    assert "(common practice, no source)" in found["torque", "nominal"].message
    assert "for the elastomer at 50 °C (memory)" in found["torque", "nominal"].message
    hourly = build.work(build.job(jaw, ("  motor: {inertia", "  service: {starts_per_hour: 200}\n  motor: {inertia")))
    assert "1.3 for the elastomer at 200 starts an hour (memory)" in hourly["torque", "peak"].message
