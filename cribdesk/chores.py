"""The chores of the command line: check, back up, restore, load, dump. Each says in one line what it did."""

from __future__ import annotations

import tempfile
import uuid
from pathlib import Path

from cribdesk.crib.words import count, number
from cribdesk.desk.counter import Counter
from cribdesk.desk.intake import described
from cribdesk.desk.intake_check import sheets_of
from cribdesk.desk.intake_fill import fill
from cribdesk.desk.ports import Head
from cribdesk.opening import load_house, now
from cribdesk.store import transfer
from cribdesk.store.check import check as check_store
from cribdesk.store.connect import open_store, shown


def check(address: str) -> list[str]:
    """Everything that is wrong with a store, in words; an empty list for a sound one."""
    with open_store(address, verify=False) as store:
        return [str(finding) for finding in check_store(store)]


def verdict(address: str, findings: list[str]) -> str:
    """The last line of a check; a password in the address is not shown."""
    return f"{shown(address)}: {'not sound' if findings else 'sound'}"


def backup(address: str, file: Path) -> str:
    """Copies a store."""
    with open_store(address) as store:
        transfer.backup(store, file)
    return f"{shown(address)} is copied to {file}."


def restore(file: Path, address: str) -> str:
    """Makes a store from a backup."""
    transfer.restore(file, address)
    return f"{file} is restored to {shown(address)}."


def load(folder: Path, address: str) -> str:
    """Fills an empty or new store from a dump, the sample store, or a site's spreadsheets."""
    if spreadsheets(folder):
        head = _load_spreadsheets(folder, address)
    else:
        with open_store(address, create=True) as store:
            head = transfer.load(folder, store)
    return f"{shown(address)} holds {count(head.seq, 'entry', 'entries')} now, last digest {head.digest}."


def spreadsheets(folder: Path) -> bool:
    """Whether the folder holds a site's spreadsheets and no journal."""
    if any((folder / f"{transfer.JOURNAL}{end}").is_file() for end in ("", ".xz")):
        return False
    return any(folder.glob("*.csv"))


def load_help() -> str:
    """What the spreadsheets hold, for the command line."""
    return described()


def _load_spreadsheets(folder: Path, address: str) -> Head:
    """Enters everything into a store beside, then carries its journal over in one step: all of it or nothing."""
    house, _ = load_house()
    files = {file.name: file.read_bytes() for file in sorted(folder.glob("*.csv"))}
    sheets = sheets_of(files, house, house.today(now()))
    with tempfile.TemporaryDirectory(prefix="cribdesk-load-") as beside:
        journal = Path(beside) / transfer.JOURNAL
        with open_store(str(Path(beside) / "store.sqlite"), create=True) as made:
            fill(sheets, Counter(made, house, now, "Load"), lambda: str(uuid.uuid4()))
            transfer.write_journal(made, journal)
        with open_store(address, create=True) as store:
            return transfer.load_journal(journal, store)


def dump(address: str, folder: Path) -> str:
    """Writes everything out."""
    with open_store(address) as store:
        head = transfer.dump(store, folder)
    return f"{number(head.seq)} entries of {shown(address)} are in {folder}."
