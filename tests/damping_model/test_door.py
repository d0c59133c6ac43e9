"""The door of the physics for people who script: few names, each explained, and nothing loaded before it is asked for."""

from __future__ import annotations

import inspect
import subprocess
import sys

import pytest

import damping_model


@pytest.mark.parametrize("name", damping_model.__all__)
def test_every_name_of_the_door_is_there_and_says_what_it_is(name: str) -> None:
    """A class says what its parameters mean, and so does a function; an error says when it is raised."""
    thing = getattr(damping_model, name)
    words = inspect.getdoc(thing)
    assert words
    assert (
        issubclass(thing, Exception) if inspect.isclass(thing) and "Error" in name else "Parameters" in words
    )


def test_the_door_lists_just_what_it_can_load() -> None:
    """Nothing more, nothing less, in order."""
    homes = [name for names in damping_model._HOMES.values() for name in names]
    assert sorted(homes) == sorted(damping_model.__all__)
    assert set(damping_model.__all__) <= set(dir(damping_model))


def test_a_name_that_is_not_there_is_an_attribute_error_like_any_other() -> None:
    """Also for hasattr."""
    assert not hasattr(damping_model, "Shimm")
    with pytest.raises(AttributeError, match="module 'damping_model' has no attribute 'Shimm'"):
        _ = damping_model.Shimm


def test_a_name_is_looked_for_once() -> None:
    """Then it is a name of the module like any other."""
    code = "import damping_model; damping_model.Shim; print('Shim' in vars(damping_model))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "True"


def test_importing_the_physics_loads_no_heavy_library() -> None:
    """So that a command can answer at once."""
    ask = "import sys, damping_model; print([m for m in ('numpy', 'scipy', 'numba') if m in sys.modules])"
    answer = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"
