"""An answer about a machine or a damper is read as people write it, or refused with an example."""

import math

import pytest

from optimiser.errors import InputError
from optimiser.files.entry.oil_words import oil_of
from optimiser.files.entry.readings import Beside, parts_of

STACK = ["3 of 20x0.10", "18x0.10", "9x0.30"]


def values(kind: str, text: str, **asked: object) -> dict[str, object]:
    return {name: part.value for name, part in parts_of(kind, text, Beside(**asked)).items()}  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    [
        "20x.1 x3, 18x.1, 9x.3",
        "3 of 20x0.10, 18x0.10, 9x0.30",
        "3 of 20x0.10; 18x0.10; 9x0.30",
        "3 of 20x0.10\n18x0.10\n9x0.30\n",
    ],
)
def test_a_stack_says_its_face_its_clamp_and_its_height(text: str) -> None:
    assert values("stack", text, hole=8.0) == {"": STACK, "face": 20, "clamp": 9, "height": 0.7}


def test_ports_are_counted_and_measured_round_or_as_slots() -> None:
    round_ones, slots = values("ports", "4 of 3.8 mm"), values("ports", "3 of 3 x 7 mm")
    assert round_ones == {"count": 4, "area": pytest.approx(4 * math.pi / 4 * 3.8**2, rel=1e-3)}
    assert slots == {"count": 3, "area": pytest.approx(3 * (math.pi / 4 * 9 + 3 * 4), rel=1e-3)}
    assert values("ports", "2 slots of 3/8 in") == values("ports", "2 of 9.525")


@pytest.mark.parametrize("text", ["12 clicks, 6 out", "6 of 12", "12, 6", "6 out of 12 clicks"])
def test_a_clicker_is_counted_and_its_areas_are_what_is_usual(text: str) -> None:
    parts = parts_of("clicker", text, Beside(usual=[0.1, 1.6], off=50.0))
    areas = parts["areas"].value
    assert (parts["at"].value, parts["at"].off, parts["areas"].off) == (6, None, 50.0)
    assert (len(areas), areas[0], areas[6], areas[12]) == (13, 0.1, 0.4, 1.6)


@pytest.mark.parametrize(
    ("text", "count", "width"),
    [("1 of 0.7 mm", 1, 0.7), ("0,7", 1, 0.7), ("2 holes of 1 mm", 2, 1), ("3 x 0.02 in", 3, 0.508)],
)
def test_bleeds_are_counted_and_measured(text: str, count: int, width: float) -> None:
    assert values("holes", text) == {"count": count, "diameter": width}


def test_a_spring_is_a_coil_or_air() -> None:
    assert values("spring", "9.6 N/mm") == {"": {"rate_n_mm": 9.6}}
    assert values("spring", "90 psi") == {"": {"pressure_bar": pytest.approx(6.2053, rel=1e-4)}}


def test_loads_are_shares_and_travels_grow_from_nothing() -> None:
    assert values("loads", "34 kg and 66 kg") == {"front": 0.34, "rear": 0.66}
    found = values("travels", "40 14, 80 29.5, 140 55")
    assert found == {"": [[0, 0], [40, 14], [80, 29.5], [140, 55]], "wheel": 140, "shaft": 55}
    assert values("travels", "5 2 in")["wheel"] == 127


@pytest.mark.parametrize(
    ("text", "warm", "hot", "off"),
    [
        ("16 cSt", 16, None, None),
        ("16,5 cSt at 40", 16.5, None, None),
        ("14.6 cSt at 40, 3.6 at 100", 14.6, 3.6, None),
        ("14.6 mm²/s at 40 °C, 3.6 cst at 100 °C", 14.6, 3.6, None),
        ("ISO VG 15", 15, 3.41, None),
        ("vg32", 32, 5.362, None),
        ("5W", 17, None, 35),
        ("SAE 7.5", 25, None, 35),
        ("10 wt", 34, None, 35),
    ],
)
def test_oil_is_read_as_the_bottle_says_it(
    text: str, warm: float, hot: float | None, off: float | None
) -> None:
    found = oil_of(text)["viscosity"]
    assert found.value["40"] == pytest.approx(warm)
    assert found.value["100"] == pytest.approx(hot) if hot else found.value["100"] < warm / 3
    assert found.off == off


REFUSED = [
    ("stack", "3 of 20x10", "expected a thickness from 0.03 to 1 mm, got 10"),
    ("ring", "15 to 10 mm", "expected the ports' inner edge first"),
    ("ports", "round", "expected how many and how wide, like 4 of 3.8 mm"),
    ("ports", "0 of 3", "expected how many and how wide"),
    ("holes", "41 of 1 mm", "expected how many holes and how wide, like 1 of 0.7 mm; or none."),
    ("holes", "0", "expected how many holes and how wide"),
    ("clicker", "twelve", "expected all its clicks and where it stands"),
    ("clicker", "200 clicks, 3 out", "at most 99"),
    ("spring", "soft", "expected a coil's rate like 9.6 N/mm or 55 lb/in, or an air spring's pressure"),
    ("loads", "34", "expected 2 figures"),
    ("travels", "140", "expected wheel travel and shaft travel in pairs"),
    ("travels", "80 29, 40 14", "expected both travels to grow from pair to pair"),
    ("oil", "red", "expected what the bottle says: '16 cSt' (at 40 °C)"),
    ("oil", "400 cSt", "expected 2.2 to 150 cSt at 40 °C"),
    ("oil", "SAE 6", "expected a weight of 2.5, 5, 7.5"),
    ("oil", "ISO VG 16", "expected a grade of 2, 3, 5, 7"),
    ("name", "---", "expected a name of letters or figures"),
]


@pytest.mark.parametrize(("kind", "text", "said"), REFUSED)
def test_nonsense_is_refused_with_the_way_out(kind: str, text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        parts_of(kind, text, Beside(usual=[0.1, 1.0], hole=8.0))
    assert said in str(caught.value)
