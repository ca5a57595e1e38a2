from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from fitcheck.checks.finding import Finding, compare
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.cautions import cautions_for
from fitcheck.report.measure_text import measure_text
from fitcheck.report.page import WIDTH, columns
from fitcheck.report.profile import stretches
from fitcheck.report.text import check_text
from fitcheck.report.wording import at_least, limit_text, measured, summary


def test_the_page_fits_100_columns_and_holds_no_control_character(samples):
    text = check_text(samples.result)
    assert all(columns(line) <= WIDTH for line in text.splitlines())
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", text)
    # A line break inside a name must not begin a line of its own.
    assert '\n"<b>' not in text


def test_what_fails_comes_first_with_its_remedy_then_warnings_then_open_then_passes(samples):
    text = check_text(Result(jobs=samples.result.jobs[:1]))
    places = [text.index(words) for words in (
        "INCOMPLETE", "What fails", "Remedy: widen the chamber by 0.2 mm", "Warnings", "Not checked",
        "Supply: give coupling.hubs.motor.screws", "Passes", "Assumed", "Warnings of the measurement", "1 job:",
        "Rotating parts",
    )]  # fmt: skip
    assert places == sorted(places)


def test_a_fail_says_value_limit_miss_and_place(samples):
    text = " ".join(check_text(samples.result).split())
    assert "radial-clearance, coupling: 0.31 mm, at least 0.5 mm, missed by 0.19 mm" in text
    assert "At: station 12.3, body bracket?[31m?" in text
    assert "point (0, 16, 12.3)" in text


def test_passes_stand_in_one_row_each(samples):
    rows = [line.split() for line in check_text(samples.result).splitlines() if line.strip().startswith("insertion")]
    assert rows[0] == ["insertion", "from", "the", "motor", "1.5", ">=", "0.1", "1.4", "mm", "2"]


def test_defaults_and_measurement_warnings_are_printed(samples):
    text = check_text(samples.result)
    assert "coupling.shaft_gap = 0.5 mm; require.orbit = 0.1 mm" in text
    assert "- body bracket?[31m?" in text


def test_the_caution_stands_once_and_nothing_is_called_safe(samples):
    text = check_text(samples.result)
    assert text.count("Rotating parts: guard them.") == 1
    assert not re.search(r"\bsafe", text, re.IGNORECASE)


def test_a_report_with_mechanics_says_each_caution_once():
    said = " ".join(cautions_for(["engagement", "torque"]))
    for word in ("guard them", "ISO 12100", "ISO 14120", "local codes", "brake", "prevail", "competent"):
        assert said.count(word) == 1, word
    assert len(said) < 600
    assert "ISO 12100" not in " ".join(cautions_for(["engagement"]))


def test_summary_counts_jobs(samples):
    assert summary(samples.result) == "4 jobs: 1 pass, 1 fail, 1 incomplete, 1 error"
    assert summary(Result(jobs=samples.result.jobs[2:3])) == "1 job: 1 pass"
    assert summary(Result(jobs=())) == "0 jobs: nothing to check"


def test_no_findings_is_said_and_is_no_pass():
    text = check_text(Result(jobs=(JobResult(name="a.fit.yaml"),)))
    assert text.startswith("INCOMPLETE  a.fit.yaml")
    assert "Nothing was checked" in text


def test_strict_is_said(samples):
    job = replace(samples.result.jobs[2], strict=True)
    assert "Warnings count as fails" in check_text(Result(jobs=(job,)))
    assert "Warnings count as fails" not in check_text(samples.result)


def test_colour_changes_words_only(samples):
    plain, coloured = check_text(samples.result), check_text(samples.result, colour=True)
    assert "\x1b[" in coloured
    assert re.sub("\x1b\\[[0-9;]*m", "", coloured) == plain
    assert set(re.findall("\x1b\\[1;3\\dm([^\x1b]*)", coloured)) == {
        "INCOMPLETE", "FAIL", "PASS", "ERROR", "WARN", "NOT-CHECKED",
    }  # fmt: skip


def test_an_error_is_printed_with_its_line(samples):
    assert "jobs/d.fit.yaml:3: 'bor' is no key" in check_text(samples.result)


@pytest.mark.parametrize(("at_least_it", "sign"), [(True, ">= 0.5"), (False, "<= 0.5")])
@pytest.mark.parametrize("value", [0.2, 0.9])
def test_the_direction_of_a_limit_is_told_from_the_margin(at_least_it, sign, value):
    finding = compare(
        check="insertion", subject="x", value=value, limit=0.5, unit="mm", at_least=at_least_it, message="m", remedy="r"
    )
    assert at_least(finding) is at_least_it
    assert limit_text(finding) == sign


def test_no_direction_is_claimed_where_value_and_limit_are_equal():
    finding = Finding(check="c", subject="s", status="pass", value=0.5, limit=0.5, margin=0.0, unit="mm", message="m")
    assert limit_text(finding) == "0.5"
    assert measured(finding) == "0.5 mm, limit 0.5 mm, margin 0 mm"


def test_measurement_page(samples):
    text = measure_text(samples.measurement)
    assert all(columns(line) <= WIDTH for line in text.splitlines())
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f]", text)
    flat = " ".join(text.split())
    for words in (
        "File unit: mm", "Motor end Seat: station 0", "Pilot bore: diameter 38.12, depth 2",
        "Opening: diameter 33, length 5",
        "Bolts: 4 on a square 47.14 (bolt circle 66.67), holes of diameter 5.5",
        "Shaft: diameter 8, length 24 from the seat, end at station 24; full diameter from station 0 to 23.5",
        "Flat: length 15, height 7.5, station 9 to 24",
        # NEMA ICS 16 frame 23: register 38.1, bolt circle 66.67 (see the frames' own tests).
        "Closest frame: NEMA 23", "Actuator end", "Offset: 0.0123 mm", "Least: 16.5 at station 2", "Rotating parts",
    ):  # fmt: skip
        assert words in flat
    assert re.search(r"1\s+bore\s+38\.12\s+drive axis\s+0\s+2\s+360", text)
    # Four holes of a pattern with side 47.14 lie side/sqrt(2) = 33.333 from its centre, and go from station 0 to 10.
    assert re.search(r"4\s+bore\s+5\.5\s+parallel, 33\.333 off\s+0\s+10\s+360", text)


def test_measurement_page_names_no_frame_that_is_far(samples):
    motor = replace(samples.measurement.ends[0], pilot=None, bolts=())
    assert "Closest frame" not in measure_text(replace(samples.measurement, ends=(motor,)))


def test_measurement_page_names_a_frame_by_its_bolts_alone(samples):
    motor = samples.measurement.ends[0]
    other = replace(motor, pilot=replace(motor.pilot, diameter=30.0))
    flat = " ".join(measure_text(replace(samples.measurement, ends=(other,))).split())
    assert "Closest frame: NEMA 23 by its bolts alone" in flat


def test_measurement_page_without_axis_says_so(samples):
    bare = replace(samples.measurement, drive_axis=None, ends=(), coaxiality=None, free_radius=None, complete=False)
    text = measure_text(bare)
    assert "none was found" in text
    assert "parts of the file could not be read" in text
    assert "along (0, 0, 1)" in text


def test_stretches_keep_the_least_and_the_greatest():
    profile = [(0.0, 19.0), (2.0, 19.0), (2.0, 16.5), (7.0, 16.5), (7.0, 21.0), (52.0, 21.0)]
    found = [(part.start, part.stop, part.least, part.most) for part in stretches(profile)]
    assert found == [(0.0, 2.0, 19.0, 19.0), (2.0, 7.0, 16.5, 16.5), (7.0, 52.0, 21.0, 21.0)]


def test_stretches_keep_material_at_a_single_station():
    assert (
        min(part.least for part in stretches([(0.0, 20.0), (5.0, 20.0), (5.0, 8.0), (5.0, 20.0), (9.0, 20.0)])) == 8.0
    )


def test_stretches_are_few_and_cover_all_of_a_long_profile():
    # A sine of 500 rows between 9 and 11, with one row at 3: the extremes must come through the merging.
    from math import sin

    profile = [(i / 10, 10 + sin(i * 0.2)) for i in range(500)]
    profile[250] = (25.0, 3.0)
    found = stretches(profile)
    assert len(found) <= 14
    assert (found[0].start, found[-1].stop) == (0.0, 49.9)
    assert all(a.stop == b.start for a, b in pairwise(found))
    assert min(part.least for part in found) == 3.0
    assert max(part.most for part in found) == max(r for _, r in profile)


def test_stretches_of_an_unbounded_profile_end():
    inf = float("inf")
    profile = [(float(i), inf if i // 2 % 2 else 10.0) for i in range(100)]
    found = stretches(profile)
    assert len(found) <= 14
    assert min(part.least for part in found) == 10.0
