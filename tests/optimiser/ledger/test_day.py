"""The day follows each job from its file to its ride, and takes back what an undo takes back."""

from __future__ import annotations

from pathlib import Path

from optimiser.ledger.builds import done, release
from optimiser.ledger.connection import Ledger
from optimiser.ledger.day import JobStage, day
from optimiser.ledger.jobs import record_outcome
from optimiser.ledger.people import erase_person
from optimiser.ledger.present_stacks import fitted_stacks
from optimiser.ledger.undo import undo
from tests.helpers.ledger_shop import STACK, A, B, D, new_job, reserved_job


def stages(ledger: Ledger) -> dict[str, JobStage]:
    found = day(ledger)
    return {job.name: job.stage for job in (*found.jobs, *found.ridden)}


def test_a_job_goes_from_plan_to_build_to_ride_to_ridden_and_back_by_undo(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        new_job(ledger, "ines")
        assert stages(ledger) == {"ines": JobStage.TO_PLAN}
        reserved_job(ledger, "jonas", taken={A: 2}, returned={D: 1})
        assert stages(ledger)["jonas"] is JobStage.TO_BUILD
        assert [(place.key, place.count, place.where) for place in day(ledger).reserved] == [(A, 2, "jonas")]
        done(ledger, "jonas")
        assert stages(ledger)["jonas"] is JobStage.TO_RIDE
        assert day(ledger).reserved == ()
        record_outcome(ledger, "jonas", "Better: stays up.")
        (ridden,) = day(ledger).ridden
        assert (ridden.name, ridden.words, ridden.next_step) == ("jonas", "Better: stays up.", "")
        undo(ledger)
        assert stages(ledger)["jonas"] is JobStage.TO_BUILD


def test_what_is_next_to_do_comes_first_and_names_its_command(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        new_job(ledger, "plan_me")
        reserved_job(ledger, "ride_me", taken={A: 1})
        done(ledger, "ride_me")
        reserved_job(ledger, "build_me", taken={B: 1})
        assert [(job.name, job.next_step) for job in day(ledger).jobs] == [
            ("build_me", "shimwright done build_me"),
            ("ride_me", "shimwright outcome ride_me WORDS"),
            ("plan_me", "shimwright plan jobs/plan_me.toml"),
        ]


def test_what_was_put_back_is_to_plan_again(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "jonas", taken={A: 1})
        release(ledger, "jonas")
        assert stages(ledger) == {"jonas": JobStage.TO_PLAN}


def test_a_rider_who_is_erased_is_not_on_the_wall(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "jonas", taken={A: 1}, rider="Jonas")
        done(ledger, "jonas")
        record_outcome(ledger, "jonas", "Better.")
        erase_person(ledger, "Jonas")
        (job,) = day(ledger).ridden
        assert "Jonas" not in f"{job}"


def test_a_damper_s_label_has_the_stack_that_is_in_it_now(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "jonas", taken={A: 1}, returned={D: 1})
        assert [[state.stack for state in states] for _, _, states in fitted_stacks(ledger)] == [[(D, D)]]
        done(ledger, "jonas")
        ((machine, damper, (state,)),) = fitted_stacks(ledger)
        assert (machine, damper, state.stack_name, state.stack) == (
            "Oxlip 140",
            "Tarn of jonas",
            STACK,
            (D, A),
        )
