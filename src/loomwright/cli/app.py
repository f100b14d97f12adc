"""All commands, and what happens when one of them cannot be carried out."""

from __future__ import annotations

import difflib
import os
import re
import sys
import traceback
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated

import typer

from loomwright import __version__
from loomwright.cli import problems
from loomwright.errors import EngineMissing, InputError, Problem, UnknownName
from loomwright.jobs.errors import StoreError

USED, STOPPED, UNUSABLE, FAULT = 0, 1, 2, 70
_EXISTS = "Use a name that exists."
_WANTS = {"explain": "a finding's code, such as E101, or a figure's key, such as conductor.awg.8.area_mm2"}
_BAD_VALUE = re.compile(r"Invalid value(?: for '?(?P<option>[^:']+)'?)?: (?:Value error, )?(?P<reason>.+)")
_NOT_ONE_OF = re.compile(r"'(?P<given>.*)' is not one of (?P<valid>.+)")

COMMANDS = (
    "draft", "check", "mend", "power", "sound", "faults", "trace", "panel", "loom", "advise", "compare", "demo",
    "init", "explain", "pack", "serve", "backup", "restore", "schema",
)  # fmt: skip
"""Every command, in the order of the job. Each is a module of ``cli.commands`` with the same name."""


def application(only: str = "") -> typer.Typer:
    """The command line: every command, or the one that is wanted, so that no other has to be loaded."""
    app = typer.Typer(
        name="loomwright",
        help="Plan, prove and hand over amplified audio in small 12 V vehicles.",
        epilog="Exit codes: 0 clear, 1 a Stop finding, 2 the input cannot be used.",
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_root)
    for name in (only,) if only in COMMANDS else COMMANDS:
        app.command(name)(import_module(f"loomwright.cli.commands.{name}").command)
    return app


def _root(
    version: Annotated[bool, typer.Option("--version", "-V", help="Print the version and leave.")] = False,
) -> None:
    if version:
        sys.stdout.write(f"loomwright {__version__}\n")
        raise typer.Exit(USED)


def execute(args: Sequence[str]) -> int:
    """Carry out one command line and return its exit code. Says what is wrong in one shape, whatever it is."""
    options = args[: args.index("--")] if "--" in args else args
    as_json = "--json" in options
    name = next((a for a in args if not a.startswith("-")), "")
    if name and name not in COMMANDS:
        problems.report(name, "usage", (_unknown_command(name),), as_json)
        return UNUSABLE
    kind: str
    found: tuple[Problem, ...]
    try:
        code = application(name)(list(args) or ["--help"], prog_name="loomwright", standalone_mode=False)
        sys.stdout.flush()
        return code if isinstance(code, int) else USED
    except InputError as error:
        kind, found = "input", error.problems
    except UnknownName as error:
        what, _, hint = str(error).partition(". ")
        kind, found = "unknown name", (Problem("command line", name, _WANTS.get(name, ""), what, hint or _EXISTS),)
    except EngineMissing as error:
        kind, found = "missing program", (Problem("loomwright", name, "", "a part of it is missing", str(error)),)
    except StoreError as error:
        what, _, hint = str(error).rpartition(". ")
        kind, found = "store", (Problem("store", "", "", what, hint),)
    except typer.TyperException as error:
        kind, found = "usage", (_usage(name, _sentence(error.format_message())),)
    except BrokenPipeError:
        # The reader has gone away (a pager, head): nothing more to say to it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return USED
    except (KeyboardInterrupt, typer.Abort):
        sys.stderr.write("\nStopped.\n")
        return 130
    except OSError as error:
        file = str(error.filename or name)
        kind, found = (
            "input",
            (
                Problem(
                    file,
                    "",
                    "a file or folder that can be used",
                    error.strerror or str(error),
                    "Check the name and your rights to it.",
                ),
            ),
        )
    except Exception as error:
        traceback.print_exc(file=sys.stderr)
        what = f"{type(error).__name__}: {error}"
        fault = Problem("loomwright", name, "", what, "This is a fault in Loomwright. Report it with the lines above.")
        problems.report(name, "fault", (fault,), as_json)
        return FAULT
    problems.report(name, kind, found, as_json)
    return UNUSABLE


def _unknown_command(name: str) -> Problem:
    near = difflib.get_close_matches(name, COMMANDS, n=1, cutoff=0.5)
    remedy = f"Did you mean: loomwright {near[0]}" if near else "See: loomwright --help"
    return Problem("command line", "command", "one of " + ", ".join(COMMANDS), name, remedy)


def _usage(name: str, message: str) -> Problem:
    """What is wrong with the options, without the words of programming."""
    help_line = f"See: loomwright {name} --help" if name else "See: loomwright --help"
    bad = _BAD_VALUE.fullmatch(message)
    if bad is None:
        return Problem("command line", name, "", message, help_line)
    choice = _NOT_ONE_OF.fullmatch(bad["reason"])
    if choice is None:
        return Problem("command line", f"{name} {bad['option']}", "", bad["reason"], help_line)
    words = re.findall(r"'([^']*)'", choice["valid"])
    near = difflib.get_close_matches(choice["given"].casefold(), words, n=1, cutoff=0.5)
    remedy = f"Did you mean: {bad['option']} {near[0]}" if near else f"Write one of these after {bad['option']}."
    return Problem("command line", f"{name} {bad['option']}", "one of " + ", ".join(words), choice["given"], remedy)


def _sentence(message: str) -> str:
    return " ".join(message.split()).rstrip(".")
