"""The command line: words in, words out. Each command is a module of ``camgen.commands``."""

from __future__ import annotations

import codecs
import gc
import importlib
import io
import re
import sys
import traceback
from pathlib import Path
from typing import Any

import click

from camgen import __version__
from camgen.commands.terminal.screen import begin_speaking, heard, in_spoken, tell
from camgen.faults import Refused, nearest
from camgen.messages import Message
from camgen.plainfile import why_not

__all__ = ["main", "tell_stopped"]

# Name on the command line, module, one line of help. Modules are loaded when first asked for, so
# that one command does not wait for the libraries of another.
COMMANDS: dict[str, tuple[str, str]] = {
    "make": ("camgen.commands.make", "Programs, pictures, sheet and report of a job."),
    "check": ("camgen.commands.make", "The same proofs; nothing is written."),
    "preview": ("camgen.commands.preview", "Pictures of a job or a program."),
    "correct": ("camgen.commands.correct", "What measured sizes ask for: the word, and why."),
    "read": ("camgen.commands.read", "What any program does: travel, time, depths, warnings."),
    "speeds": ("camgen.commands.speeds", "Speed and feed for one cutter, each limit named."),
    "divide": ("camgen.commands.divide", "Dividing-head settings and angles."),
    "mesh": ("camgen.commands.mesh", "A wheel and its pinion: sizes, depthing, action."),
    "post": ("camgen.commands.post", "Machine files: list, show, make a new one, try one."),
    "library": ("camgen.commands.library", "Proven jobs: record, find, compare."),
    "start": ("camgen.commands.start", "A new workshop folder with examples."),
    "materials": ("camgen.commands.reference.materials", "Materials, with what is known of each."),
    "cutters": ("camgen.commands.reference.cutters", "Kinds of cutter, and the workshop's own."),
    "guide": ("camgen.commands.reference.guide", "Guides to read: a first wheel, my mill …"),
    "words": ("camgen.commands.reference.words", "What the words of a job file mean."),
    "schema": ("camgen.commands.reference.schema", "JSON Schema of job files, for editors."),
}


class Workshop(click.Group):
    """The commands, loaded one at a time."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(COMMANDS[cmd_name][0])
        # What is loaded stays to the end: no search for lost cycles need go through it.
        gc.freeze()
        gc.enable()
        return _asked_in(getattr(module, cmd_name))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        word = args[0] if args else ""
        if word and not word.startswith("-") and word not in COMMANDS:
            near = nearest(word, COMMANDS)
            what = Message("no command '{word}'.", word=word)
            ctx.fail(in_spoken(
                Message("{what} Did you mean '{near}'?", what=what, near=near) if near else what))
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        begin_speaking()
        try:
            return super().invoke(ctx)
        except click.UsageError as wrong:
            raise click.UsageError(_short(_usage(wrong)), wrong.ctx) from None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.command(
    cls=Workshop,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
    epilog="First time? camgen start workshop, then in that folder: "
           "camgen make jobs/third-wheel.yaml\n\n"
           "To read: camgen guide\n\n"
           "Words completed by the Tab key, in bash (zsh and fish likewise): "
           'eval "$(_CAMGEN_COMPLETE=bash_source camgen)"',
)
@click.version_option(__version__, prog_name="camgen")
def group() -> None:
    """Proved milling programs for watch parts, from job files in trade words."""


def _asked_in(command: click.Command) -> click.Command:
    """The command, or each of its own commands, with the word for the language of its answers."""
    if isinstance(command, click.Group):
        for one in command.commands.values():
            _asked_in(one)
    elif not any(one.name == "language" for one in command.params):
        command.params.append(click.Option(
            ["--language"], metavar="CODE", is_eager=True, expose_value=False, callback=heard,
            help="Language of what is told, en, de or fr; else CAMGEN_LANGUAGE, else English."))
    return command


def main() -> None:
    """Run the command line. Exit status: 0 done, 1 refused, 2 usage, 3 a proof failed."""
    # A command is over in a second: looking for lost cycles every few hundred objects, as is
    # usual, would be a tenth of it.
    gc.disable()
    gc.set_threshold(50_000, 20, 20)
    codecs.register_error("spelt", _spelt)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="spelt")
    try:
        sys.exit(group(prog_name="camgen", standalone_mode=False))
    except click.ClickException as wrong:
        wrong.show()
        sys.exit(wrong.exit_code)
    except click.Abort:
        raise KeyboardInterrupt from None
    except Refused as no:
        for fault in no.faults:
            tell(_short(fault.said(in_spoken)), err=True)
        sys.exit(1)
    except OSError as why:  # a name given for what is to be written, a full disk
        tell(_short(in_spoken(Message(
            "{file} cannot be used: {why}\n"
            "    Nothing was written by this command. Give another name or folder.",
            file=why.filename or Message("a file"), why=why_not(why)))), err=True)
        sys.exit(1)
    except Exception as why:  # the last net: nobody at a machine is helped by a traceback
        if _by_the_keyboard(why):
            raise KeyboardInterrupt from None
        tell(_own_fault(why), err=True)
        sys.exit(1)


def _by_the_keyboard(why: BaseException | None) -> bool:
    """Whether an error comes of a stop from the keyboard: a library stopped as it loads says what
    it lacks."""
    while why is not None and not isinstance(why, KeyboardInterrupt):
        why = why.__cause__ or why.__context__
    return why is not None


def tell_stopped() -> None:
    """Say that the program was stopped from the keyboard, and what that leaves."""
    tell(in_spoken(Message(
        "\nStopped. Files are written whole or not at all: what was not told as made was not "
        "made.")),
        err=True)


# How signs are written on a console that has no letters for them.
_SPELT = {"≤": "<=", "≥": ">=", "µ": "u", "μ": "u", "°": " deg", "″": '"', "′": "'", "×": "x",
          "·": " ", "²": "2", "³": "3", "–": "-", "—": "-", "−": "-", "…": "...", "Ø": "D",
          "±": "+-", "→": "->", "’": "'", "‘": "'", "“": '"', "”": '"', "‰": " per mille",
          "\xa0": " "}


def _spelt(why: UnicodeError) -> tuple[str, int]:
    """Signs the console cannot show in others that it can: no answer ends in a crash for them."""
    assert isinstance(why, UnicodeEncodeError)
    signs = why.object[why.start:why.end]
    return "".join(_SPELT.get(sign, "?") for sign in signs), why.end


def _usage(wrong: click.UsageError) -> str:
    """What is wrong with the words after a command, in the language spoken."""
    if isinstance(wrong, click.NoSuchOption):
        near = nearest(wrong.option_name, wrong.possibilities or ())
        what = Message("no option '{word}'.", word=wrong.option_name)
        return in_spoken(
            Message("{what} Did you mean '{near}'?", what=what, near=near) if near else what)
    if isinstance(wrong, click.MissingParameter) and wrong.param is not None:
        return in_spoken(Message("{name} is missing", name=(
            wrong.param.opts[0] if isinstance(wrong.param, click.Option)
            else wrong.param.human_readable_name)))
    return wrong.format_message()


def _short(text: str) -> str:
    """What is said, without what is endless in it: a number of a thousand figures is not echoed.

    >>> len(_short("no such number: " + "9" * 5000)) < 120
    True
    """
    return re.sub(r"[^\s/\\]{121,}", lambda found: (
        f"{found[0][:60]}... ({len(found[0])} characters)"), text)


def _own_fault(why: Exception) -> Message:
    """What to say when the program itself is wrong, with what its makers need to know."""
    frames = traceback.extract_tb(why.__traceback__)
    at = (Message("{file}, line {line}", file=Path(frames[-1].filename).name,
                  line=frames[-1].lineno) if frames else Message("unknown"))
    return Message(
        "camgen itself is at fault here, not your file: {kind}: {why} ({at}).\n"
        "    Nothing was written by this command. Please report it with the file you used.",
        kind=type(why).__name__, why=str(why), at=at)
