"""The chores of the command line: check, back up, restore, load, dump. Each says in one line what it did."""

from __future__ import annotations

from pathlib import Path

from cribdesk.crib.words import count, number
from cribdesk.store import transfer
from cribdesk.store.check import check as check_store
from cribdesk.store.connect import open_store, shown


def check(address: str) -> list[str]:
    """Everything that is wrong with a store, in words; an empty list for a sound one."""
    with open_store(address, verify=False) as store:
        return [str(finding) for finding in check_store(store)]


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
    """Fills an empty or new store from a dump or the sample store."""
    with open_store(address, create=True) as store:
        head = transfer.load(folder, store)
    return f"{shown(address)} holds {count(head.seq, 'entry', 'entries')} now, last digest {head.digest}."


def dump(address: str, folder: Path) -> str:
    """Writes everything out."""
    with open_store(address) as store:
        head = transfer.dump(store, folder)
    return f"{number(head.seq)} entries of {shown(address)} are in {folder}."
