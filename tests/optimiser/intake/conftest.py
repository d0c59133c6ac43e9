"""Small machines, workable by hand."""

import pytest

from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import CoilSpring
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.basics import Ranges
from optimiser.intake.complaint import Vocabulary
from optimiser.intake.machine import Corner, Machine, Rider


@pytest.fixture
def rider() -> Rider:
    return Rider("Ines", 80.0)


@pytest.fixture
def bike() -> Machine:
    """Front 1:1 on 9 N/mm; rear 2.5:1 all along on 80 N/mm with 2 mm of preload; 150 mm of travel each."""
    front = Corner(
        name="front",
        end="front",
        leverage=LeverageCurve.fork(travel=0.15),
        spring=CoilSpring(stiffness=9000.0),
        load_share=0.4,
        unsprung_mass=3.0,
        wheel_radius=0.37,
        tyre_pressure=(1.4e5, 1.9e5),
    )
    rear = Corner(
        name="rear",
        end="rear",
        leverage=LeverageCurve.constant(travel=0.15, leverage_ratio=2.5),
        spring=CoilSpring(stiffness=80_000.0, preload=0.002),
        load_share=0.6,
        unsprung_mass=4.0,
        wheel_radius=0.37,
    )
    return Machine("bike", "mountain bike", 15.0, (front, rear), wheelbase=1.2, mass_height=1.0)


@pytest.fixture(scope="session")
def ranges() -> Ranges:
    return read_ranges()


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return read_vocabulary()
