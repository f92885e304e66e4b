"""A site's spreadsheets: what each file and column means, and their text read into rows, every fault told."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Mapping

from cribdesk.crib.air import DENSEST_KG_M3, THINNEST_KG_M3, USUAL_KG_M3
from cribdesk.crib.clearance import FIT_METHODS
from cribdesk.crib.records import ClearanceKind, Role
from cribdesk.crib.work_limit import KINDS as KINDS_OF_LIMIT
from cribdesk.desk import typed
from cribdesk.desk.intake_air import AIR_FILES
from cribdesk.desk.intake_columns import Column, Fault, Files, Row, Sheets, column, one_of
from cribdesk.desk.intake_crib import CRIB_FILES

ROLES = tuple(role.value for role in Role)
KINDS = ("unit", "part", "person", "battery", "stock item", "bin", "flow meter", "area")
"""What a label from elsewhere may be bound to, in labels.csv."""

FILES: Files = {
    "settings.csv": (
        "the site's settings",
        (column("name*", "as the window's Settings name it: site_name, zone, shift_plan ..."), column("value*", "")),
    ),
    "people.csv": (
        "wearers and staff; one at least is system administrator, the first of them begins the store",
        (
            column("name*", "as it stands on papers"),
            column("number", "your own number of the person, for the other files; needed where two have one name"),
            column("trade", ""),
            column("crew", ""),
            column("employer", "empty for your own people"),
            column("ends_on", "last day the badge is good", "date"),
            column("roles", f"none for a wearer, else parted by commas: {', '.join(ROLES)}", "roles"),
        ),
    ),
    "clearances.csv": (
        "medical clearances, trainings, fit tests",
        (
            column("person*", "number or name from people.csv"),
            one_of("kind*", tuple(kind.value for kind in ClearanceKind), "medical, training or fit test"),
            column("given_on*", "day it was given", "date"),
            column("cleared", "no for a medical 'not cleared'", "yes-no", default="yes"),
            column("until", "last day it is good, where one was named", "date"),
            column("model", "of a fit test: the unit model's code"),
            column("size", "of a fit test"),
            one_of("method", FIT_METHODS, f"how a fit test was made: {'; '.join(FIT_METHODS)}"),
            column("fit_factor", "of a fit test by an instrument: the factor measured", "whole", high=1_000_000),
            column("detail", "limits or remarks"),
            column("proof", "of people of another employer: which paper of theirs proves it"),
            column("proof_dated", "day on that paper; empty: the day it was given", "date"),
        ),
    ),
    "work_limits.csv": (
        "what the health professional allows no wearer of, as a code; never the reason",
        (
            column("person*", "number or name from people.csv"),
            column("code*", f"one of: {'; '.join(one.code for one in KINDS_OF_LIMIT)}"),
            column("given_on*", "day it was given", "date"),
        ),
    ),
    "areas.csv": (
        "places and tasks",
        (
            column("name*", ""),
            column("required", "whether a respirator is required there", "yes-no", default="yes"),
            column("agents", "what is in the air"),
            column("processes", "what is done there"),
            column("dust_ug_m3", "assessed dust, micrograms a cubic metre", "whole", high=10_000_000),
            column("note", ""),
        ),
    ),
    **AIR_FILES,
    "suppliers.csv": ("who delivers", (column("name*", ""),)),
    "bins.csv": ("places on the shelf", (column("code*", "as it stands on the shelf"),)),
    "items.csv": (
        "what lies on the shelf",
        (
            column("code*", "as the unit models name it, for what goes into a unit"),
            column("name*", ""),
            column("maker", ""),
            column("maker_number", ""),
            one_of("criticality", ("A", "B", "C"), "A, B or C", "B"),
            column("pack_size", "pieces in a pack", "whole", default="1", low=1),
            column("price", "of one piece, with a point: 12.50", "price", default="0"),
            column("supplier", "name from suppliers.csv"),
            column("bin", "code from bins.csv"),
            column("minimum", "pieces that should not be undershot", "whole", default="0"),
            column("maximum", "", "whole"),
            column("shelf_days", "days it keeps on the shelf", "whole", low=1),
            column("per_week", "a person gets in seven days before the counter asks", "whole", low=1, high=500),
        ),
    ),
    "lots.csv": (
        "what is there of each item, by batch",
        (
            column("item*", "code from items.csv"),
            column("lot*", "batch; write the day it came where the carton names none"),
            column("quantity*", "pieces on the shelf now, without those in fitted.csv", "whole"),
            column("expires_on", "last day it may be used", "date"),
        ),
    ),
    "chargers.csv": (
        "battery chargers",
        (column("name*", ""), column("slots", "packs it takes", "whole", default="6", low=1, high=60)),
    ),
    "batteries.csv": (
        "battery packs",
        (
            column("model*", "as the unit models name it"),
            column("serial", "the maker's number; needed to bind a label to it"),
            column("bought_on", "", "date"),
            column("cycles", "charged so often until now", "whole", default="0"),
        ),
    ),
    "instruments.csv": (
        "flow meters",
        (
            column("name*", ""),
            column("serial*", "the maker's number"),
            column("uncertainty_lpm*", "standard uncertainty, L/min; its certificate", "figure", low=0.01, high=99.9),
            column("calibrated_on*", "", "date"),
            column("calibrated_until*", "last day the calibration is good", "date"),
            column(
                "calibration_kg_m3", "density of the air its scale holds in, kg/m3, from its certificate", "figure",
                default=f"{USUAL_KG_M3}", low=THINNEST_KG_M3, high=DENSEST_KG_M3,
            ),
        ),
    ),
    "units.csv": (
        "units; all of them go to the bench for their first inspection, their worn hours begin at 0",
        (
            column("model*", "the unit model's code"),
            column("serial*", "your number or the maker's; fitted.csv and labels.csv name the unit by it"),
            column("size", "where the model has sizes"),
        ),
    ),
    "fitted.csv": (
        "what sits in each unit, position by position; it counts as new from the load on, so fit fresh filters first",
        (
            column("unit*", "serial from units.csv"),
            column("position*", "code as the unit model names it"),
            column("item*", "code from items.csv"),
            column("lot*", "lot from lots.csv, in a row with quantity 0 where nothing of it is left"),
            column("part_serial", "the maker's number of a part that gets a label of its own"),
        ),
    ),
    **CRIB_FILES,
    "labels.csv": (
        "labels that are there already (badges, makers' barcodes) and shall scan from now on",
        (
            column("text*", "what the scanner reads"),
            one_of("kind*", KINDS, ", ".join(KINDS)),
            column("record*", "a person's number or name, an area's name, an item's or bin's code; all else by serial"),
        ),
    ),
}
"""Every file with what it holds and its columns."""


def read_sheets(files: Mapping[str, bytes]) -> tuple[Sheets, list[Fault]]:
    """The rows of all files, and what is wrong with each text by itself."""
    faults = [
        Fault(name, 0, "", f"no file of this name is known. Known are {', '.join(FILES)}")
        for name in sorted(files)
        if name not in FILES
    ]
    sheets = {name: _read(name, files[name], faults) if name in files else () for name in FILES}
    return sheets, faults


def _read(file: str, data: bytes, faults: list[Fault]) -> tuple[Row, ...]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        faults.append(Fault(file, 0, "", "it is not UTF-8. Save it as 'CSV UTF-8'"))
        return ()
    lines = _lines(file, text, faults)
    if not lines:
        return ()
    names = [_name(cell) for cell in lines[0][1]]
    if not _fits(file, names, faults):
        return ()
    columns = {column.name: column for column in FILES[file][1]}
    rows = []
    for number, cells in lines[1:]:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
            words = f"it has {len(cells)} fields, the header {len(names)}. Put text with a comma in it between quotes"
            faults.append(Fault(file, number, "", words))
            continue
        given = dict(zip(names, cells, strict=False))
        rows.append(Row(file, number, _values(file, number, columns, given, faults)))
    return tuple(rows)


def _lines(file: str, text: str, faults: list[Fault]) -> list[tuple[int, list[str]]]:
    """Rows with their numbers; commas or semicolons, whichever the header has more of."""
    head = text.partition("\n")[0]
    mark = ";" if head.count(";") > head.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    found: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            found.append((len(found) + 1, cells))
    except csv.Error as failure:
        faults.append(Fault(file, len(found) + 1, "", f"this row cannot be read ({failure})"))
        return []
    if not found or not any(cell.strip() for cell in found[0][1]):
        faults.append(Fault(file, 1, "", "there is no header row"))
        return []
    return found


def _name(cell: str) -> str:
    return "_".join(cell.lower().split())


def _fits(file: str, names: list[str], faults: list[Fault]) -> bool:
    columns = FILES[file][1]
    known = [column.name for column in columns]
    before = len(faults)
    for name in dict.fromkeys(names):
        if name and name not in known:
            faults.append(Fault(file, 1, typed.short(name), f"no such column. Known are {', '.join(known)}"))
        elif name and names.count(name) > 1:
            faults.append(Fault(file, 1, name, "this column is there twice"))
    faults += [
        Fault(file, 1, column.name, "this column is missing")
        for column in columns
        if column.needed and column.name not in names
    ]
    return len(faults) == before


def _values(
    file: str, number: int, columns: Mapping[str, Column], given: Mapping[str, str], faults: list[Fault]
) -> dict[str, object]:
    values: dict[str, object] = {}
    for name, one in columns.items():
        text = given.get(name, "").strip()
        if not text and one.needed:
            faults.append(Fault(file, number, name, "it is empty"))
            continue
        text = text or one.default
        if not text:
            continue
        try:
            values[name] = _value(one, text)
        except ValueError as failure:
            faults.append(Fault(file, number, name, str(failure)))
    return values


def _value(column: Column, text: str) -> object:
    match column.kind:
        case "whole":
            return typed.whole_of(text, int(column.low), int(column.high))
        case "figure":
            return typed.figure_of(text, column.low, column.high)
        case "price":
            return typed.cents_of(text)
        case "date":
            return typed.day_of(text)
        case "yes-no":
            return typed.yes_of(text)
        case "roles":
            parted = text.replace(";", ",").replace("/", ",").split(",")
            return tuple(_known(one.strip(), ROLES, "role") for one in parted if one.strip())
        case "choice":
            return _known(text, column.choices, column.name)
    return typed.words_of(text)


def _known(text: str, choices: tuple[str, ...], what: str) -> str:
    for choice in choices:
        if choice.lower() == " ".join(text.lower().split()):
            return choice
    raise ValueError(f"'{typed.short(text)}' is no {what}. Take one of: {', '.join(choices)}")


def described() -> str:
    """All files and columns in words, for the help of the command line; * marks what may not be empty."""
    lines = [
        "A site's spreadsheets are CSV files in one folder: UTF-8, commas or semicolons, the names of the columns",
        "in the first row, columns in any order. Only people.csv must be there. A field marked * is never empty.",
        "Dates like 2027-05-31 or 31.5.2027; numbers with a decimal point; yes or no. Every fault is told by file,",
        "row and field, all at once; while there is one, nothing is loaded.",
    ]
    for file, (words, columns) in FILES.items():
        lines += ["", f"{file}: {words}"]
        for one in columns:
            name = one.name + ("*" if one.needed else "")
            told = one.words + (f" (else {one.default})" if one.default else "")
            lines += _hung(f"  {name:<18}", told)
    return "\n".join(lines)


def _hung(head: str, words: str) -> list[str]:
    return textwrap.wrap(words, 100, initial_indent=head, subsequent_indent=" " * 20) or [head.rstrip()]
