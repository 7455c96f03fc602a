"""The command ``coatwright``: its commands, and how it ends."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from coatwright.cli import paper, paper_tools, pattern, salon
from coatwright.cli.desk import desk
from coatwright.cli.forecast import forecast
from coatwright.cli.plan import plan
from coatwright.cli.reading import reading
from coatwright.cli.schema import schema
from coatwright.cli.sheet import sheet
from coatwright.cli.visit import log_visit

STOPPED = 130
"""Exit code after Ctrl+C, as shells have it."""

app = typer.Typer(
    name="coatwright",
    rich_markup_mode=None,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
for command in (plan, forecast, sheet, log_visit, reading, desk, schema):
    app.command()(command)
paper.app.command()(paper_tools.count)
paper.app.command()(paper_tools.tools)
app.add_typer(paper.app)
app.add_typer(pattern.app)
app.add_typer(salon.app)


def _version(wanted: bool) -> None:
    if wanted:
        from coatwright import __version__

        typer.echo(f"Coatwright {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def coatwright(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Tell the version and stop.")
    ] = False,
) -> None:
    """Plan the hand-stripping of a dog's coat, see it grow, and know what to pull at the next visit."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def run() -> None:
    """Run the command line and end the process with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")  # a letter that the terminal lacks is no reason to stop
    sys.exit(call(sys.argv[1:]))


def call(arguments: list[str]) -> int:
    """Run the command line; its exit code. Errors a user can meet are told; others are raised."""
    from coatwright.cli.fail import FAILED, tell, usage
    from coatwright.errors import CoatwrightError

    as_json = "--json" in arguments
    try:
        code = typer.main.get_command(app).main(arguments, prog_name="coatwright", standalone_mode=False)
        sys.stdout.flush()
        return code if isinstance(code, int) else 0
    except CoatwrightError as error:
        tell(error, as_json=as_json)
        return FAILED
    except (KeyboardInterrupt, typer.Abort):
        print("\nStopped.", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:  # the reader of a pipe has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return 0
    except Exception as error:
        message = getattr(error, "format_message", None)
        if message is None:
            raise
        context = getattr(
            error, "ctx", None
        )  # the command itself was wrong: told as far as it was understood
        tell(usage(message(), context.command_path if context else "coatwright"), as_json=as_json)
        return FAILED
