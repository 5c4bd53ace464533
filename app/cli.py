"""The command ``crankwright``: the window, and the same work without one.

Exit code: 0 good; 1 the check found something; 2 bad input, said in one sentence on
standard error.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Callable, Sequence
from typing import NoReturn

from app import balancing, finding, fitting, headless
from core.errors import CrankwrightError

GOOD, FOUND, BAD = 0, 1, 2
#: What a shell reports for a program stopped by a closed pipe, or by Ctrl+C.
PIPE_CLOSED, INTERRUPTED = 141, 130


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with the command line in one sentence."""

    def error(self, message: str) -> NoReturn:
        raise CrankwrightError(message.rstrip(".").replace("\n", " "),
                               mend=f"see {self.prog} --help")


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line `argv` (default: the program's own); the exit code."""
    _use_utf8()
    try:
        code = run(list(sys.argv[1:] if argv is None else argv))
        sys.stdout.flush()
        return code
    except CrankwrightError as error:
        return _say(str(error))
    except BrokenPipeError:
        # Whoever read our output has enough; keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return PIPE_CLOSED
    except KeyboardInterrupt:
        return INTERRUPTED
    except MemoryError:
        return _say("There is not enough memory for this; try fewer steps.")
    except Exception as error:
        if os.environ.get("CRANKWRIGHT_TRACEBACK"):
            raise
        what = " ".join(f"{type(error).__name__}: {error}".split())[:200]
        return _say(f"Something unforeseen went wrong ({what}); please report it with the "
                    "sketch, and set CRANKWRIGHT_TRACEBACK=1 to see where.")


def run(argv: list[str]) -> int:
    """As :func:`main`, but troubles are raised: CrankwrightError, or what was not
    foreseen."""
    if argv and argv[0] in COMMANDS:
        parser = _Parser(prog=f"crankwright {argv[0]}", description=COMMANDS[argv[0]][0])
        _, arguments, command = COMMANDS[argv[0]]
        if command is headless.bench:
            return headless.bench(argv[1:])
        arguments(parser)
        return command(parser.parse_args(argv[1:]))
    parser = _Parser(
        prog="crankwright", formatter_class=argparse.RawDescriptionHelpFormatter,
        description="Opens the window, on FILE if one is named.",
        epilog="without a window:\n" + "\n".join(
            f"  crankwright {name:<8} {about}" for name, (about, _, _) in COMMANDS.items())
        + "\n\n'crankwright COMMAND --help' tells more. A file named like a command is opened"
          "\nas ./NAME.")
    parser.add_argument("file", nargs="?", metavar="FILE", help="a sketch")
    parser.add_argument("--version", action="version", version=headless.version())
    return headless.window(parser.parse_args(argv))


def _use_utf8() -> None:
    """Plain output everywhere: UTF-8, and what a terminal cannot show, escaped."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            with contextlib.suppress(ValueError, OSError):
                stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def _say(sentence: str) -> int:
    print(sentence[:1].upper() + sentence[1:] if sentence.startswith("the ") else sentence,
          file=sys.stderr)
    return BAD


def _sketch(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="the sketch")


def _demo_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", metavar="NAME", help="leave out for a list")
    parser.add_argument("-o", "--out", metavar="FILE", help="where to write it "
                        "(default: standard output)")


def _turn_arguments(parser: argparse.ArgumentParser) -> None:
    _sketch(parser)
    parser.add_argument("--steps", type=headless.steps, default=720, metavar="N",
                        help="steps in a crank turn, 8 to 100 000 (default 720)")
    parser.add_argument("--csv", metavar="OUT", help="write the whole table; - is standard "
                        "output")
    parser.add_argument("--json", action="store_true", help="print the whole table as JSON")


def _check_arguments(parser: argparse.ArgumentParser) -> None:
    _sketch(parser)
    parser.add_argument("--json", action="store_true", help="print the findings as JSON")


def _sheets_arguments(parser: argparse.ArgumentParser) -> None:
    _sketch(parser)
    parser.add_argument("-o", "--out", metavar="OUT.pdf", required=True)
    parser.add_argument("--at", type=headless.angle, metavar="DEG",
                        help="crank angle to draw (default: as drawn)")
    parser.add_argument("--paper", metavar="SIZE", help="A4, A3, letter, …")
    parser.add_argument("--scale", type=headless.scale, metavar="1:N", help="default: the "
                        "largest standard scale that fits")
    parser.add_argument("--no-templates", action="store_true",
                        help="leave out the 1:1 templates")


def _nothing(parser: argparse.ArgumentParser) -> None:
    """A command without arguments."""


_Arguments = Callable[[argparse.ArgumentParser], None]
_Command = Callable[[argparse.Namespace], int]

COMMANDS: dict[str, tuple[str, _Arguments, _Command]] = {
    "demo": ("writes a demo, or lists them", _demo_arguments, headless.demo),
    "turn": ("solves the whole turn", _turn_arguments, headless.turn),
    "check": ("looks for locks, rubbing, hard cranking, what breaks, slips or pinches",
              _check_arguments, headless.check),
    "sheets": ("writes the layout sheets as PDF", _sheets_arguments, headless.sheets),
    "fit": ("moves points until the motion is as wanted", fitting.arguments,
            fitting.command),
    "find": ("proposes mechanisms for what is wanted", finding.arguments,
             finding.command),
    "balance": ("proposes what makes the crank pleasant", balancing.arguments,
                balancing.command),
    "schema": ("prints the JSON Schema of sketches", _nothing, headless.schema),
    "bench": ("measures how fast it is", _nothing, headless.bench),
}
