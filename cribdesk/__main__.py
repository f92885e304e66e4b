"""The command line: open a store, the sample store, the chores. Every error is one plain line."""

from __future__ import annotations

import argparse
import gc
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from cribdesk import __version__

NO_SCREEN = (
    "This machine has no screen to open a window on. "
    "'cribdesk walkthrough FOLDER' drives the window without one and leaves pictures."
)
SOUND, NOT_SOUND, CANNOT = 0, 1, 2


class Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments in one line; `more` adds to the help, made when it is asked for."""

    more: Callable[[], str] | None = None

    def format_help(self) -> str:
        """The help, with what `more` adds."""
        text = super().format_help()
        return text if self.more is None else f"{text}\n{self.more()}\n"

    def error(self, message: str) -> NoReturn:
        """Ends with exit code 2."""
        sys.stderr.write(f"cribdesk: {message}. Try 'cribdesk --help'.\n")
        raise SystemExit(CANNOT)


def parser() -> Parser:
    """Every command with its help."""
    top = Parser(
        prog="cribdesk",
        description="The tool-crib counter of a shop that welds. Without a command it opens your own store.",
    )
    top.add_argument("--version", action="version", version=f"cribdesk {__version__}")
    where = top.add_mutually_exclusive_group()
    where.add_argument("--sample", action="store_true", help="open a fresh private copy of the sample store")
    where.add_argument("--store", metavar="ADDRESS", help="open this store: a file, or postgresql://...")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", parser_class=Parser)
    for name, (arguments, words, _) in CHORES.items():
        one = commands.add_parser(name, help=words, description=f"{words[0].upper()}{words[1:]}.")
        for argument, meaning in arguments:
            one.add_argument(argument, metavar=argument.upper(), help=meaning)
        if name == "load":
            one.more = _load_help
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command. Returns the exit code."""
    given = parser().parse_args(arguments)
    if given.command:
        chore = CHORES[given.command][2]
        values = [getattr(given, name) for name, _ in CHORES[given.command][0]]
        return _plainly(lambda: chore(*values))
    return _plainly(lambda: _window(given.store, given.sample))


def _window(address: str | None, sample: bool) -> int:
    from cribdesk.window.start import no_screen

    if no_screen():
        return _fail(NO_SCREEN)
    gc.disable()  # nothing that a start makes is garbage; the session turns it on again with the first picture
    from cribdesk.opening import user_store
    from cribdesk.session import run_window

    if address is None and not sample:
        own = user_store()
        own.parent.mkdir(parents=True, exist_ok=True)
        return run_window(str(own), sample=False, create=not own.exists())
    return run_window(address, sample=sample, create=False)


def _walkthrough(folder: str) -> int:
    from cribdesk.walkthrough import walk

    return walk(Path(folder))


def _check(address: str) -> int:
    from cribdesk import chores

    findings = chores.check(address)
    for finding in findings:
        print(finding)
    print(chores.verdict(address, findings))
    return NOT_SOUND if findings else SOUND


def _backup(address: str, file: str) -> int:
    from cribdesk import chores

    print(chores.backup(address, Path(file)))
    return SOUND


def _restore(file: str, address: str) -> int:
    from cribdesk import chores

    print(chores.restore(Path(file), address))
    return SOUND


def _load(folder: str, address: str) -> int:
    from cribdesk import chores

    print(chores.load(Path(folder), address))
    return SOUND


def _load_help() -> str:
    from cribdesk import chores

    return chores.load_help()


def _dump(address: str, folder: str) -> int:
    from cribdesk import chores

    print(chores.dump(address, Path(folder)))
    return SOUND


Arguments = tuple[tuple[str, str], ...]
_ADDRESS = ("address", "a store: a file, or postgresql://...")
CHORES: dict[str, tuple[Arguments, str, Callable[..., int]]] = {
    "walkthrough": (
        (("folder", "where pictures and papers go; empty or new"),),
        "drive the window through a stretch of a shift on the sample store, without a screen",
        _walkthrough,
    ),
    "check": ((_ADDRESS,), "verify a store: digests, replay, constraints", _check),
    "backup": (
        (_ADDRESS, ("file", "where the copy goes; of a server its name ends in .jsonl.xz")),
        "copy a whole store while it is at work",
        _backup,
    ),
    "restore": ((("file", "a backup"), _ADDRESS), "make a store from a backup", _restore),
    "load": (
        (("folder", "a dump, the sample store, or a site's spreadsheets"), _ADDRESS),
        "fill an empty store from a folder",
        _load,
    ),
    "dump": ((_ADDRESS, ("folder", "empty or new")), "write everything out in documented plain files", _dump),
}


def _plainly(run: Callable[[], int]) -> int:
    """Runs; what is known to go wrong ends in one plain line and exit code 2."""
    from cribdesk.crib.refusal import NotAllowed

    try:
        return run()
    except KeyboardInterrupt:
        return 130
    except NotAllowed as failure:
        return _fail(failure.words())
    except (OSError, LookupError, ValueError, ImportError) as failure:
        return _fail(str(failure) or type(failure).__name__)
    except Exception as failure:
        if type(failure).__module__.startswith("cribdesk."):
            return _fail(str(failure))
        raise


def _fail(words: str) -> int:
    sys.stderr.write(f"cribdesk: {words}\n")
    return CANNOT


if __name__ == "__main__":
    raise SystemExit(main())
