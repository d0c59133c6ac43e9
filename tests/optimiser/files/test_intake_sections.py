"""The tables of a job that the intake reads: basics, brackets, complaint; and the shop's own tables."""

import math
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.basics_section import BasicsSection
from optimiser.files.brackets_section import BracketsSection
from optimiser.files.carry_section import CarrySection
from optimiser.files.complaint_section import ComplaintSection
from optimiser.files.symptoms_file import OUR_OWN, read_vocabulary, vocabulary_of
from optimiser.intake.bands import RIGHT_WAY

CARRY = """\
known_bike = "../bikes/old.toml"
known_damper = "../dampers/old.toml"
known_corner = "rear"
corner = "rear"
[[band]]
name = "edges"
stroke = "compression"
from_wheel_m_s = 1.0
to_wheel_m_s = 2.5
"""


class Job(FileModel):
    basics: BasicsSection | None = None
    brackets: BracketsSection | None = None
    complaint: ComplaintSection | None = None


def read(tmp_path: Path, text: str) -> Job:
    path = tmp_path / "job.toml"
    path.write_text(text)
    return read_toml(path, Job, what="job")


def refusal(tmp_path: Path, text: str) -> str:
    with pytest.raises(InputError) as caught:
        read(tmp_path, text)
    return str(caught.value).removeprefix(str(tmp_path) + "/")


def test_basics_are_read_in_the_units_of_the_bench(tmp_path: Path) -> None:
    job = read(
        tmp_path,
        """
        [basics]
        hours_since_service = 40
        [[basics.corner]]
        name = "rear"
        sag_shaft_mm = 15
        tyre_pressure_bar = 1.7
        free_play = false
        """,
    )
    assert job.basics is not None
    (corner,) = job.basics.values().corners
    assert corner.sag_at_shaft == pytest.approx(0.015)
    assert corner.tyre_pressure == pytest.approx(1.7e5)
    assert corner.free_play is False
    assert corner.leaks is None


def test_bracketing_notes_are_read(tmp_path: Path) -> None:
    job = read(
        tmp_path,
        """
        [[brackets.adjuster]]
        name = "rebound"
        lowest_clicks = 0
        highest_clicks = 14
        best_clicks = 6
        better = "calmer"
        """,
    )
    assert job.brackets is not None
    assert job.brackets.notes()[0].best == 6


def test_a_complaint_with_an_event_is_read(tmp_path: Path) -> None:
    job = read(
        tmp_path,
        """
        [complaint]
        words = "drops away"
        corner = "front"
        shift_percent = 8
        familiarity_percent = 12
        [complaint.event]
        kind = "pedal bob"
        stroke_mm = 12
        cadence_rpm = 90
        slope_deg = 30
        from_travel_percent = 25
        """,
    )
    assert job.complaint is not None
    assert job.complaint.event is not None
    asked = job.complaint.event.asked()
    assert asked.stroke == pytest.approx(0.012)
    assert asked.cadence == pytest.approx(1.5)
    assert asked.slope == pytest.approx(math.pi / 6)
    assert asked.from_share == pytest.approx(0.25)
    assert job.complaint.complaint().shift == pytest.approx(0.08)
    assert job.complaint.asks_for_a_band


def test_a_complaint_may_ask_for_every_velocity(tmp_path: Path) -> None:
    job = read(tmp_path, '[complaint]\nsymptom = "dives on the brakes"\nat_every_velocity = true')
    assert job.complaint is not None
    assert job.complaint.complaint().at_every_velocity


def test_words_alone_ask_for_no_band(tmp_path: Path) -> None:
    complaint = read(tmp_path, '[complaint]\nwords = "hm"').complaint
    assert complaint is not None
    assert not complaint.asks_for_a_band


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            '[basics]\n[[basics.corner]]\nname = "rear"\nsag_mm = 40\nsag_percent = 28',
            "one of sag_mm, sag_shaft_mm or sag_percent, got sag_mm and sag_percent",
        ),
        (
            '[[basics.corner]]\nname = "rear"\nsag_mm = nan',
            "job.toml:3: basics.corner 'rear'.sag_mm: got nan;",
        ),
        ('[[basics.corner]]\nname = "rear"\nsag_mm = -5', "got -5; expected: greater than 0."),
        (
            '[[basics.corner]]\nname = "rear"\ntyre_pressure_bar = 23',
            "got 23; expected: less than or equal to 8; if it is psi, write 1.586.",
        ),
        (
            '[[basics.corner]]\nname = "rear"\ntyre_pressure_bar = "12"',
            "got '12'; expected: less than or equal to 8; if it is psi, write 0.8274.",
        ),
        ('[[basics.corner]]\nname = "rear"\nsag = 5', "unknown key. Did you mean 'sag_mm'?"),
        ("[basics]\nhours_since_service = -1", "job.toml:2: basics.hours_since_service: got -1;"),
        ('[basics]\noverride_reason = ""', "job.toml:2: basics.override_reason: got ''; expected: "),
        (
            '[[brackets.adjuster]]\nname = "x"\nlowest_clicks = 8\nhighest_clicks = 2',
            "lowest_clicks lower than highest_clicks, got 8 and 2; swap them",
        ),
        ('[[brackets.adjuster]]\nname = "x"\nlowest_clicks = 0.5\nhighest_clicks = 2', "got 0.5; expected: "),
        (
            "[complaint]\nfrom_m_s = 0.5\nto_m_s = 0.1",
            "from_m_s lower than to_m_s, got 0.5 and 0.1; swap them",
        ),
        ("[complaint]\nshift_percent = 0", "a shift_percent other than 0"),
        ("[complaint]\nshift_percent = inf", "job.toml:2: complaint.shift_percent: got inf;"),
        ('[complaint]\nstroke = "up"', "got 'up'; expected: 'compression' or 'rebound'"),
        (
            '[complaint.event]\nkind = "jump"',
            "'braking dive', 'square edge', 'landing', 'pedal bob' or 'wheel velocity'",
        ),
        (
            '[complaint.event]\nkind = "landing"\nheight_mm = 500\nfrom_travel_percent = 60\nto_travel_percent = 20',
            "from_travel_percent lower than to_travel_percent, got 60 and 20; swap them",
        ),
        ('[complaint.event]\nkind = "landing"\nheigth_mm = 500', "unknown key. Did you mean 'height_mm'?"),
    ],
)
def test_a_slip_is_refused_by_line_and_field(tmp_path: Path, text: str, message: str) -> None:
    assert message in refusal(tmp_path, text)


def test_a_shop_may_edit_the_symptom_table(tmp_path: Path) -> None:
    path = tmp_path / "symptoms.toml"
    path.write_text(OUR_OWN.read_text().replace('"front dives"', '"nods its head"'))
    assert read_vocabulary(path).symptom("nods its head").name == "dives on the brakes"


def test_a_shops_file_changes_what_it_names_and_leaves_the_rest(tmp_path: Path) -> None:
    (tmp_path / "symptoms.toml").write_text(
        """hold_tolerance_percent = 8.0
right_way_least = 0.5
[band.crawl]
from_m_s = 0.01
to_m_s = 0.04
[[symptom]]
name = "sticks at a standstill"
end = "front"
stroke = "compression"
band = "crawl"
shift_percent = -20.0
reason = "Found here."
[[symptom]]
name = "slow to come back"
end = "rear"
stroke = "rebound"
band = "low"
shift_percent = -5.0
reason = "Found here."
"""
    )
    ours, shops = read_vocabulary(), vocabulary_of(tmp_path)
    assert shops.hold_tolerance == pytest.approx(0.08)
    assert shops.right_way == (0.5, ours.right_way[1])
    assert shops.target_tolerance == ours.target_tolerance
    assert list(shops.bands) == ["crawl", *ours.bands]
    assert shops.symptom("sticks at a standstill").band == "crawl"
    assert shops.symptom("slow to come back").shift == pytest.approx(-0.05)
    assert shops.symptom("dives on the brakes") == ours.symptom("dives on the brakes")
    assert len(shops.symptoms) == len(ours.symptoms) + 1


def test_a_shop_without_a_table_of_its_own_has_the_programs(tmp_path: Path) -> None:
    assert vocabulary_of(tmp_path) == read_vocabulary()


def test_the_programs_table_says_the_right_way_as_a_goal_takes_it_without_one() -> None:
    assert read_vocabulary().right_way == pytest.approx(RIGHT_WAY, rel=2e-4)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            ('band = "mid"', 'band = "middle"'),
            "band of 'harsh over chatter' to be one of low, mid, high, got 'middle'",
        ),
        (("from_m_s = 0.04", "from_m_s = 0.4"), "from_m_s lower than to_m_s, got 0.4 and 0.15; swap them"),
        (("guard_ratio = 2.0", "guard_ratio = 0.5"), "guard_ratio: got 0.5; expected: greater than 1"),
        (
            ("shift_percent = 10.0", "shift_percent = 0"),
            "a shift_percent other than 0 for 'dives on the brakes'",
        ),
    ],
)
def test_a_slip_in_the_symptom_table_is_refused(
    tmp_path: Path, change: tuple[str, str], message: str
) -> None:
    path = tmp_path / "symptoms.toml"
    path.write_text(OUR_OWN.read_text().replace(*change, 1))
    with pytest.raises(InputError) as caught:
        read_vocabulary(path)
    assert message in str(caught.value)


def test_a_slip_in_the_ranges_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "basics.toml"
    path.write_text(
        'most_preload_mm = 12\nlow_anti_squat_percent = 70\n[[kind]]\nname = "car"\nservice_hours = 9\n'
        "sag_percent = { front = [60, 40] }"
    )
    with pytest.raises(
        InputError, match=r"sag_percent of 'front' as \[least, most\] in percent, got \[60, 40\]"
    ):
        read_ranges(path)


def test_a_known_feel_is_named_with_its_bands(tmp_path: Path) -> None:
    path = tmp_path / "carry.toml"
    path.write_text(CARRY)
    section = read_toml(path, CarrySection, what="carry")
    assert section.stretch == (0.1, 0.9)
    assert section.band[0].band().tolerance == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (("to_wheel_m_s = 2.5", "to_wheel_m_s = 0.5"), "got 1 and 0.5; swap them"),
        (("[[band]]", "from_travel_percent = 95\n[[band]]"), "got 95 and 90; swap them"),
        (("known_bike", "known_bikes"), "carry.toml:1: known_bikes: unknown key. Did you mean 'known_bike'?"),
    ],
)
def test_a_slip_in_what_is_carried_over_is_refused(
    tmp_path: Path, change: tuple[str, str], message: str
) -> None:
    path = tmp_path / "carry.toml"
    path.write_text(CARRY.replace(*change))
    with pytest.raises(InputError) as caught:
        read_toml(path, CarrySection, what="carry")
    assert message in str(caught.value)
