"""A job or answers from a stranger read no file outside the shop without a yes, and nothing of one is shown even then."""

from pathlib import Path

import pytest

from optimiser.files.job_writer import answers_text
from optimiser.files.shop_folder import TRUSTED, shop_folder
from tests.helpers.command_line import Typed
from tests.helpers.paths import STIFF_SHOP

pytestmark = pytest.mark.usefixtures("plans_once")

JOB = "jobs/b_clicks_do.toml"
SECRET = "hunter2"  # noqa: S105 - stands for what is nobody's business


@pytest.fixture
def secret(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(TRUSTED, "0")
    place = tmp_path / "elsewhere" / "keys"
    place.parent.mkdir()
    place.write_text(f"{SECRET} = {SECRET}:x\n{SECRET}\n", encoding="utf-8")
    return place


def name_in_job(shop: Path, key: str, value: str) -> None:
    lines = (shop / JOB).read_text(encoding="utf-8").splitlines()
    changed = [f'{key} = "{value}"' if line.startswith(f"{key} = ") else line for line in lines]
    assert changed != lines
    (shop / JOB).write_text("\n".join(changed), encoding="utf-8")


@pytest.mark.parametrize("key", ["rider", "bike", "damper", "shelf"])
@pytest.mark.parametrize("way", ["absolute", "up", "link"])
def test_a_file_outside_the_shop_is_neither_read_nor_shown(
    key: str, way: str, shop: Path, secret: Path, typed: Typed
) -> None:
    (shop / "jobs" / "link").symlink_to(secret)
    name_in_job(shop, key, {"absolute": str(secret), "up": "../../elsewhere/keys", "link": "link"}[way])
    seen = typed("plan", JOB)
    assert seen.code == 2
    assert SECRET not in seen.out + seen.err
    assert f"which lies outside the shop's folder {shop}; expected a file of the shop" in seen.err
    assert "type 'shimwright --outside' in front" in seen.err


@pytest.mark.parametrize("key", ["rider", "bike", "damper", "shelf"])
def test_with_a_yes_it_is_read_and_still_not_shown(key: str, shop: Path, secret: Path, typed: Typed) -> None:
    name_in_job(shop, key, str(secret))
    seen = typed("--outside", "plan", JOB)
    assert seen.code == 2
    assert SECRET not in seen.out + seen.err
    assert "cannot be used. It lies outside the shop's folder, so nothing of it is shown" in seen.err


def test_with_a_yes_a_good_file_elsewhere_is_planned_with(shop: Path, secret: Path, typed: Typed) -> None:
    rider = secret.with_name("rider.toml")
    rider.write_text((shop / "riders" / "ines.toml").read_text(encoding="utf-8"), encoding="utf-8")
    name_in_job(shop, "rider", str(rider))
    assert typed("plan", JOB).code == 2
    assert typed("--outside", "plan", JOB).code == 0


def test_a_tune_names_no_file_outside_either(shop: Path, secret: Path, typed: Typed) -> None:
    tune = shop / "tunes" / "maren_oxlip.toml"
    text = tune.read_text(encoding="utf-8")
    tune.write_text(text.replace('"../riders/maren.toml"', f'"{secret}"'), encoding="utf-8")
    assert tune.read_text(encoding="utf-8") != text
    seen = typed(
        "tunes", "--bike", "bikes/oxlip_trail.toml", "--rider", "riders/ines.toml", "--corner", "rear"
    )
    assert seen.code == 2
    assert SECRET not in seen.err


ANSWERS = {
    "title": "Wallows",
    "rider": "../riders/ines.toml",
    "bike": "../bikes/oxlip_trail.toml",
    "damper": "../dampers/tarn_shock.toml",
    "shelf": "../shelf.csv",
    "symptom": "wallows in long turns",
    "stack": "compression stack",
}


def answer_with(shop: Path, **other: str) -> None:
    (shop / "answers.toml").write_text(answers_text(ANSWERS | other), encoding="utf-8")


@pytest.mark.parametrize("key", ["rider", "bike", "damper", "shelf"])
@pytest.mark.parametrize("way", ["absolute", "from here", "link"])
def test_answers_name_no_file_outside_either(
    key: str, way: str, shop: Path, secret: Path, typed: Typed
) -> None:
    (shop / "jobs" / "link").symlink_to(secret)
    answer_with(
        shop, **{key: {"absolute": str(secret), "from here": "../elsewhere/keys", "link": "link"}[way]}
    )
    words = ("intake", "jobs/new.toml", "--answers", "answers.toml")
    seen = typed(*words)
    assert seen.code == 2
    assert SECRET not in seen.out + seen.err
    assert f"{key}: jobs/new.toml: got the file jobs/" in seen.err
    assert f"which lies outside the shop's folder {shop}; expected a file of the shop" in seen.err
    with_a_yes = typed("--outside", *words)
    assert with_a_yes.code == 2
    assert SECRET not in with_a_yes.out + with_a_yes.err
    assert "so nothing of it is shown" in with_a_yes.err
    assert not (shop / "jobs" / "new.toml").exists()


def test_with_a_yes_a_job_is_written_that_names_a_good_file_elsewhere(
    shop: Path, secret: Path, typed: Typed
) -> None:
    rider = secret.with_name("rider.toml")
    rider.write_text((shop / "riders" / "ines.toml").read_text(encoding="utf-8"), encoding="utf-8")
    answer_with(shop, rider=str(rider))
    words = ("intake", "jobs/new.toml", "--answers", "answers.toml")
    assert typed(*words).code == 2
    assert typed("--outside", *words).code == 0
    assert 'rider = "../../elsewhere/rider.toml"' in (shop / "jobs" / "new.toml").read_text(encoding="utf-8")


def test_the_shop_of_a_job_is_its_own_folder_or_the_one_above(tmp_path: Path) -> None:
    assert shop_folder(STIFF_SHOP / "jobs" / "b_clicks_do.toml") == STIFF_SHOP
    (tmp_path / "loose").mkdir()
    assert shop_folder(tmp_path / "loose" / "job.toml") == tmp_path / "loose"
