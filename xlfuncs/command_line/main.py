"""The command line: one file of `commands` is one command, found by its name, loaded when used.

A command's file holds a click command called `command`; its name is the file's with hyphens.
Exit codes: 0 done, 1 an input is wrong (said in words), 2 the command was called wrongly.
"""

import gc
import os
import pkgutil
import sys
from importlib import import_module

import click

import xlfuncs
from xlfuncs.command_line import commands as room
from xlfuncs.errors import XlfuncsError


class _Commands(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        found = pkgutil.iter_modules(room.__path__)
        return sorted(module.name.replace("_", "-") for module in found)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.list_commands(ctx):
            return None
        module = import_module(f"{room.__name__}.{cmd_name.replace('-', '_')}")
        command: click.Command = module.command
        return command


@click.command(cls=_Commands, name="xlfuncs")
@click.version_option(xlfuncs.__version__)
def commands() -> None:
    """Worksheet functions for people who water vegetable beds with drip lines."""


def main() -> None:
    """Entry point of the console script."""
    _prepare_short_life()
    for stream in (sys.stdout, sys.stderr):  # units such as ft² on a console with an old code page
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        commands()
    except Exception as error:
        if os.environ.get("XLFUNCS_TRACEBACK"):
            raise
        click.echo(f"xlfuncs: {_words(error)}", err=True)
        sys.exit(1)
    finally:
        gc.freeze()  # the process ends; what is alive need not be searched through once more


def _words(error: Exception) -> str:
    """What went wrong, for the person at the keyboard."""
    if isinstance(error, XlfuncsError):
        return str(error)
    if isinstance(error, OSError):
        place = f"{error.filename}: " if error.filename else ""
        return f"{place}{error.strerror or error}"
    if isinstance(error, MemoryError):
        return "there is not enough memory for this file"
    return (
        f"this is a mistake of ours ({type(error).__name__}: {error}). Please report it with the"
        " command and, if you can, the file; with XLFUNCS_TRACEBACK=1 in the environment the"
        " command says where it happened"
    )


def _prepare_short_life() -> None:
    """What a fresh process need not spend on one command, a fifth of a recalculation's time."""
    # No matrix here is large enough for several threads, and each takes time to start and end.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Loading makes many objects and hardly any garbage.
    gc.set_threshold(20_000)


if __name__ == "__main__":
    main()
