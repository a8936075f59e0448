"""The command line: one file a command, found by listing this folder.

Errors of the user become one message and an exit code here and nowhere else.
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
from typing import NoReturn

import click

from mockcheck import __version__
from mockcheck.errors import BadBrief, UnreadableInput, UserError

EXIT_FINDINGS = 1
EXIT_USAGE = 2
EXIT_UNREADABLE = 3
EXIT_OUR_BUG = 4


class _Commands(click.Group):
    """Commands are the public files of this folder; `foo_bar.py` holds the command foo-bar."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # click's signature
        names = [module.name for module in pkgutil.iter_modules(__path__)]
        return sorted(name.replace("_", "-") for name in names if not name.startswith("_"))

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.list_commands(ctx):
            return None
        module = importlib.import_module(f"mockcheck.cli.{cmd_name.replace('-', '_')}")
        command: click.Command = module.command
        return command


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Start with: mockcheck review mockup.mid",
)
@click.version_option(__version__, prog_name="mockcheck")
def cli() -> None:
    """Find what real string players cannot, or should not, be asked to play in a MIDI mock-up."""


def exit_code_of(error: UserError) -> int:
    """Unreadable input is 3, anything else the user can put right is 2."""
    return EXIT_UNREADABLE if isinstance(error, UnreadableInput) else EXIT_USAGE


def main() -> NoReturn:
    """Run the command line and exit; a user never sees a traceback for a fault of the input."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        code = cli.main(standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(EXIT_USAGE)
    except click.Abort:
        sys.exit(130)
    except UserError as error:
        prefix = "brief: " if isinstance(error, BadBrief) and ":" not in str(error) else ""
        click.echo(f"mockcheck: {prefix}{error}", err=True)
        sys.exit(exit_code_of(error))
    except BrokenPipeError:
        sys.exit(0)
    except Exception:  # noqa: BLE001  # whatever is left is our bug and must say so
        import traceback

        click.echo(traceback.format_exc(), err=True)
        click.echo(
            "mockcheck: this is a fault of mockcheck, not of your file. Please report it with the"
            " text above and, if you can, the file.",
            err=True,
        )
        sys.exit(EXIT_OUR_BUG)
    # Without its own handling of exits, click returns the code that a command asked for.
    sys.exit(code if isinstance(code, int) else 0)
