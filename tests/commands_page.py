"""Write docs/reference/commands.md from the commands' own --help: ``python -m tests.commands_page``."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click
from click.testing import CliRunner

from optimiser.cli import COMMANDS, cli

PAGE: Final = Path(__file__).parents[1] / "docs" / "reference" / "commands.md"
HEAD: Final = """# Commands

What `--help` prints, command by command. A script writes this page (`python -m tests.commands_page`), and a test fails
when it is out of date. [The pages by reader](../README.md) say when to use which.
"""


def page() -> str:
    """The text of the page."""
    sections = [HEAD, _section(), *(_section(*words) for words in _every_command())]
    return "\n".join(sections)


def _every_command() -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    for name in COMMANDS:
        found.append((name,))
        command = cli.get_command(click.Context(cli), name)
        if isinstance(command, click.Group):
            found += [(name, part) for part in sorted(command.commands)]
    return found


def _section(*words: str) -> str:
    shown = CliRunner().invoke(cli, [*words, "--help"], prog_name="shimwright", catch_exceptions=False)
    return f"{'#' * min(2 + len(words[1:]), 3)} {' '.join(['shimwright', *words])}\n\n```text\n{shown.output.rstrip()}\n```\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
