"""A variant of a job is typed so that a shell gives the program the same variant back."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from optimiser.cli.band_percent import by_band
from optimiser.errors import InputError
from optimiser.jobs.variant import Variant, command_line


@pytest.mark.parametrize(
    "name", ["high speed", 'the "fast" end', "a=b", "costs $5", "it's", "tick`s", "back\\slash"]
)
def test_a_shell_takes_a_typed_variant_apart_into_what_it_was(name: str) -> None:
    variant = Variant(tolerances={name: 0.0641}, shifts={"low": -0.0478}, most_changes=1, stack=name)
    words = shlex.split(command_line("plan", Path("my jobs/x.toml"), variant, override=f"no {name}"))
    assert words[:3] == ["shimwright", "plan", "my jobs/x.toml"]
    options = dict(zip(words[3::2], words[4::2], strict=True))
    assert options["--hold"] == f"{name}=6.41"
    assert options["--ask"] == "low=-4.78"
    assert (options["--changes"], options["--stack"], options["--override"]) == ("1", name, f"no {name}")
    assert by_band("--hold", [options["--hold"]]) == {name: pytest.approx(0.0641)}


def test_a_job_as_filed_is_typed_without_an_option() -> None:
    assert command_line("shop", Path("jobs/x.toml")) == "shimwright shop jobs/x.toml"


@pytest.mark.parametrize("text", ["high speed", "=6", "high speed=", "high speed=six", "high speed=nan"])
def test_what_is_no_band_with_a_figure_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError, match=r"--hold: got .* expected a band and a figure in percent"):
        by_band("--hold", [text])


def test_a_band_is_named_once() -> None:
    with pytest.raises(InputError, match="got 'low' twice"):
        by_band("--ask", ["low=5", "low = 6 %"])
