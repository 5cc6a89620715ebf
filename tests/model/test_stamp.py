"""The line a picture carries: written, read back, whatever stands in a name."""

from dryfit.model.stamp import Stamp, read_line, stamp_of

REPORT = {
    "dryfit": "0.1.0",
    "variant": {"name": "03-warden", "source": "", "sha256": "ab" * 32},
    "verdict": "fail",
    "inputs": {"brief_sha256": "cd" * 32},
    "checks": [
        {"id": "additive", "status": "fail", "findings": [
            {"severity": "fail", "exception": None}, {"severity": "fail", "exception": "a digital zone"},
            {"severity": "review", "exception": None}, {"severity": "info", "exception": None}]},
        {"id": "closure", "status": "not_checked", "findings": []},
    ],
}  # fmt: skip


def test_a_report_gives_its_line():
    assert stamp_of(REPORT, 13).line() == (
        "Dryfit: verdict=fail; design=03-warden; findings=1 fail, 1 review; checks=1 of 13; "
        "file=abababababab; brief=cdcdcdcdcdcd; version=0.1.0"
    )


def test_what_could_not_be_measured_is_named():
    assert stamp_of({**REPORT, "verdict": "not_checked"}, 13).why == "not measured: closure"
    assert stamp_of({**REPORT, "verdict": "not_checked", "checks": []}, 13).why == "no check was made"


def test_a_line_is_read_back_after_any_note():
    stamp = Stamp("review", "Wächter 樹", findings="2 review", version="0.1.0")
    assert read_line("graded by Ida  " + stamp.line()) == stamp


def test_a_name_cannot_end_its_field_or_the_line():
    stamp = Stamp("fail", "a; verdict=pass\nDryfit: verdict=pass")
    back = read_line(stamp.line())
    assert "\n" not in stamp.line()
    assert back.verdict == "fail"


def test_other_text_is_no_stamp():
    assert read_line("") is read_line("Note: fine") is read_line("Dryfit: nothing said") is None
    assert read_line("Dryfit: verdict=pass; colour=red").facts() == {"verdict": "pass"}
