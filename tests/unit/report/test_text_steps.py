"""A finding that answers with a way of doing it: its steps stand numbered in the report."""

from dataclasses import replace
from html import escape

from fitcheck.checks.finding import Finding
from fitcheck.checks.result import JobResult, Result
from fitcheck.report.html import check_html
from fitcheck.report.text import check_text

STEPS = ("Put the coupling on the motor's shaft.", "Bolt the motor on.")


def order(status: str) -> Result:
    finding = Finding(check="assembly-order", subject="order", status=status, message="m", steps=STEPS)
    return Result(jobs=(JobResult(name="a.fit.yaml", findings=(finding,)),))


def test_the_steps_of_a_pass_are_numbered_in_order():
    lines = check_text(order("pass")).splitlines()
    first = lines.index("    1. Put the coupling on the motor's shaft.")
    assert lines[first - 1 : first + 2] == [
        "  assembly-order: what works, in order",
        lines[first],
        "    2. Bolt the motor on.",
    ]


def test_steps_are_in_the_data_only_where_there_are_some():
    assert order("pass").to_dict()["jobs"][0]["findings"][0]["steps"] == list(STEPS)
    plain = Finding(check="insertion", subject="coupling", status="pass", message="m")
    assert "steps" not in plain.to_dict()


def test_the_page_for_a_browser_numbers_them_too_and_only_those_of_a_pass():
    page = check_html(order("pass"))
    assert "<ol>" + "".join(f"<li>{escape(step)}</li>" for step in STEPS) + "</ol>" in page
    assert "<ol>" not in check_html(order("fail"))


def test_what_tools_do_at_a_screw_that_passes_is_told_too():
    message = "a hex key, long arm in reaches the M4 screw at shaft angles 10.0° to 20.0°; best 15.0°"
    finding = Finding(check="wrench-access", subject="motor hub screw 1", status="pass", message=message)
    text = check_text(Result(jobs=(JobResult(name="a.fit.yaml", findings=(finding,)),)))
    assert "wrench-access: which tool at which shaft angles" in text
    told = " ".join(text.split())
    assert f"- motor hub screw 1: {message}" in told
    # Of one that fails it stands with the fail, once.
    failed = check_text(Result(jobs=(JobResult(name="a.fit.yaml", findings=(replace(finding, status="fail"),)),)))
    assert " ".join(failed.split()).count(message) == 1
    assert "which tool at which shaft angles" not in failed


def test_where_no_order_works_each_is_told_with_what_it_lacks_in_a_line_of_its_own():
    orders = (
        {"name": "coupling on the motor's shaft first", "works": False,
         "missing": ["the coupling lacks 1.1 mm", "screw 1 is hidden"]},
        {"name": "hubs apart", "works": False, "missing": ["the hub lacks <2> mm"]},
    )  # fmt: skip
    finding = Finding(check="assembly-order", subject="order", status="fail", message="none works", orders=orders)

    def result(status: str) -> Result:
        return Result(jobs=(JobResult(name="a.fit.yaml", findings=(replace(finding, status=status),)),))

    lines = [line.strip() for line in check_text(result("fail")).splitlines()]
    first = lines.index("Tried:")
    assert lines[first - 1 : first + 3] == [
        "none works",
        "Tried:",
        "- coupling on the motor's shaft first: the coupling lacks 1.1 mm, screw 1 is hidden",
        "- hubs apart: the hub lacks <2> mm",
    ]
    assert "<li>hubs apart: the hub lacks &lt;2&gt; mm</li>" in check_html(result("fail"))
    assert "Tried:" not in check_text(result("pass"))
    assert "Tried:" not in check_html(result("pass"))


def test_the_other_orders_of_a_pass_are_told_with_their_clearance_and_when_screws_are_tightened():
    first = {"name": "a", "works": True, "clearance": 1.0, "missing": [], "tightened_before": ["x"]}
    orders = (
        first,
        {"name": "b", "works": True, "clearance": 0.3421, "missing": [], "tightened_before": ["motor hub screw 1"],
         "tightened_after": ["actuator hub screw 1", "actuator hub screw 2"]},
        {"name": "c", "works": True, "clearance": None, "missing": [], "tightened_before": ["motor hub screw 1"],
         "tightened_after": []},
        {"name": "d", "works": False, "clearance": -2.0, "missing": ["the hub lacks <2> mm"], "tightened_before": [],
         "tightened_after": []},
    )  # fmt: skip
    finding = Finding(
        check="assembly-order", subject="order", status="pass", message="m", steps=STEPS, orders=orders
    )  # fmt: skip
    result = Result(jobs=(JobResult(name="a.fit.yaml", findings=(finding,)),))
    told = " ".join(check_text(result).split())
    assert (
        "2. Bolt the motor on. Other orders: "
        "- b: works, 0.342 mm clearance; tightened before the second machine is bolted on: motor hub screw 1; "
        "tightened after it: actuator hub screws 1, 2 "
        "- c: works, nothing stands about it; tightened before the second machine is bolted on: motor hub screw 1 "
        "- d: the hub lacks <2> mm"
    ) in told
    page = check_html(result)
    assert "<p>Other orders:</p>\n<ul><li>b: works, 0.342 mm clearance;" in page
    assert "<li>d: the hub lacks &lt;2&gt; mm</li></ul>" in page
    alone = replace(finding, orders=(first,))
    assert "Other orders" not in check_text(Result(jobs=(JobResult(name="a.fit.yaml", findings=(alone,)),)))
