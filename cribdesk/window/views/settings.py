"""Settings: of the site (journalled) and of this workstation, and the sheets of labels."""

from __future__ import annotations

from collections.abc import Mapping

from cribdesk.desk.settings import BY_NAME, SETTINGS, Setting
from cribdesk.window.choices import Choices
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.fields import ChoiceField, TextField
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Row, Scroll, Size
from cribdesk.window.lists import fixed
from cribdesk.window.look import SCALES
from cribdesk.window.rows import Upright
from cribdesk.window.view import Page, View

SHEETS = (
    ("units", "Units"), ("parts", "Parts"), ("people", "Badges"), ("batteries", "Batteries"), ("bins", "Bins"),
    ("areas", "Areas"), ("instruments", "Flow meters"), ("sets", "Sets"), ("cabinets", "Cabinets"),
    ("commands", "Commands"),
)  # fmt: skip
SHADES = (("system", "as the system"), ("light", "light"), ("dark", "dark"))
VOLUMES = (("0", "off"), ("25", "quiet"), ("60", "middle"), ("100", "loud"))
HIDDEN = frozenset({"sample_until"})


class Settings(Page):
    """Left this workstation and the printing of labels, right the site. Every change is told at once."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._left, self._right = Panel("page", (24, 16, 24, 16), 16), Panel("sheet", (24, 16, 24, 16), 16)
        self.scale = self._station("scale", "Text size", tuple((f"{one:g}", f"{one * 100:.0f} %") for one in SCALES))
        self.shade = self._station("shade", "Light or dark", SHADES)
        self.volume = self._station("volume", "Sounds; silence loses no information", VOLUMES)
        self.motion = self._station(
            "motion", "A taken scan lights the strip for a moment", (("on", "yes"), ("off", "no"))
        )
        self._fill_left()
        self.fields: dict[str, TextField | ChoiceField] = {}
        self._saves: dict[str, ActionButton] = {}
        self._values: dict[str, str] = {}
        self._fill_right()
        self._body = Row()
        self._scrolls = (Scroll(self._left), Scroll(self._right, "sheet"))
        self._body.addWidget(self._scrolls[0], 1)
        self._body.addWidget(Upright())
        self._body.addWidget(self._scrolls[1], 1)
        Boxes(self).addLayout(self._body)

    def _station(self, name: str, words: str, choices: tuple[tuple[str, str], ...]) -> Choices:
        group = Choices(words, choices)
        group.chosen.connect(lambda value: self.doors.station_set.emit(name, value))
        return group

    def _fill_left(self) -> None:
        column = self._left.column
        column.addWidget(Words("This workstation", 24, True, wrap=True))
        for group in (self.scale, self.shade, self.volume, self.motion):
            column.addWidget(group)
        self.prefix = TextField("Character the scanner sends before each label", "Empty: scans are told by their pace.")
        self.prefix.changed.connect(self._prefix)
        column.addWidget(self.prefix)
        self.printer = Choices("Printer", stacked=True)
        self.printer.chosen.connect(lambda value: self.doors.station_set.emit("printer", value))
        self._no_printer = Words(
            "No printer is set up on this machine. Papers are kept and can be printed later.", ink="ink2", wrap=True
        )
        column.addWidget(self.printer)
        column.addWidget(self._no_printer)
        column.addWidget(Rule())
        column.addWidget(Words("Labels and cards", 24, True, wrap=True))
        self.sheet = Choices("A sheet of labels for", SHEETS)
        column.addWidget(self.sheet)
        self._print_row(column, "label_sheet")
        column.addWidget(
            Words("The answer card: good, not good, next, back, break off, for working by scanner alone.", wrap=True)
        )
        self._print_row(column, "answer_card")
        column.addStretch(1)

    def _print_row(self, column: Boxes, paper: str) -> None:
        line = Row(gap=8)
        for words, signal in (("See", self.doors.preview_paper), ("Print", self.doors.print_again)):
            button = fixed(ActionButton(words, "plain", size="row"))
            button.setAccessibleName(f"{words} {paper.replace('_', ' ')}")
            button.clicked.connect(lambda _=False, signal=signal: self._paper(paper, signal))
            line.addWidget(button)
        line.addStretch(1)
        column.addLayout(line)

    def _paper(self, paper: str, signal: object) -> None:
        of = self.sheet.value() if paper == "label_sheet" else ""
        if paper == "label_sheet" and not of:
            self.doors.say.emit("Choose first what the labels are for.")
            return
        (self.doors.preview_paper if signal == self.doors.preview_paper else self.doors.print_again).emit(paper, of)

    def _fill_right(self) -> None:
        column = self._right.column
        column.addWidget(Words("The site", 24, True, wrap=True))
        column.addWidget(
            Words("Each change is an entry of the journal and holds at every counter.", ink="ink2", wrap=True)
        )
        for setting in SETTINGS:
            if setting.name in HIDDEN:
                continue
            field = self._field(setting)
            field.setObjectName(setting.name)
            field.changed.connect(self._edited)
            save = fixed(ActionButton("Save", "plain", size="row"))
            save.setAccessibleName(f"Save {setting.words}")
            save.setProperty("name", setting.name)
            save.clicked.connect(self._save)
            save.setEnabled(False)
            self.fields[setting.name], self._saves[setting.name] = field, save
            column.addWidget(field)
            line = Row()
            line.addStretch(1)
            line.addWidget(save)
            column.addLayout(line)
        column.addStretch(1)

    def _field(self, setting: Setting) -> TextField | ChoiceField:
        """A list where few values are possible, each in the words of its file where it has one."""
        names = {code: one.name for code, one in self.doors.house.rule_sets.items()}
        default = names.get(setting.default, setting.default)
        told = f"Default: {default}" if default else ""
        if not setting.choices:
            return TextField(setting.words, told)
        return ChoiceField(setting.words, tuple((one, names.get(one, one)) for one in setting.choices), told)

    def want(self) -> None:
        self.doors.wanted.emit("settings", "")

    def take(self, kind: str, data: object) -> None:
        if kind == "settings" and isinstance(data, Mapping):
            self._show_site({str(name): str(value) for name, value in data.items()})
        elif kind == "station" and isinstance(data, Mapping):
            self._show_station({str(name): str(value) for name, value in data.items()})

    def _show_site(self, values: dict[str, str]) -> None:
        self._values = values
        for name, field in self.fields.items():
            if not field.editor.hasFocus():
                field.set_value(values.get(name, ""))
                field.set_fault("")
                self._saves[name].setEnabled(False)

    def _show_station(self, values: dict[str, str]) -> None:
        self.scale.set_value(values.get("scale", "1"))
        self.shade.set_value(values.get("shade", "system"))
        self.volume.set_value(values.get("volume", "60"))
        self.motion.set_value(values.get("motion", "on"))
        if not self.prefix.editor.hasFocus():
            self.prefix.set_value(values.get("prefix", ""))
        printers = tuple(one for one in values.get("printers", "").split("\n") if one)
        self.printer.set_choices(tuple((one, one, "") for one in printers))
        self.printer.set_value(values.get("printer", ""))
        self.printer.setVisible(bool(printers))
        self._no_printer.setVisible(not printers)

    def _prefix(self) -> None:
        value = self.prefix.value()
        if len(value) > 1:
            self.prefix.set_fault("One character at most.")
            return
        self.prefix.set_fault("")
        self.doors.station_set.emit("prefix", value)

    def _edited(self) -> None:
        field = self.sender()
        if not isinstance(field, TextField | ChoiceField):
            return
        name = field.objectName()
        fault = fault_of(name, field.value())
        field.set_fault(fault)
        self._saves[name].setEnabled(not fault and field.value() != self._values.get(name, ""))

    def _save(self) -> None:
        name = str(self.sender().property("name"))
        self._saves[name].setEnabled(False)
        self.doors.site_set.emit(name, self.fields[name].value())

    def fit(self, size: Size) -> None:
        """Both halves side by side; where the window is small they keep half each and scroll."""

    def answer(self) -> str:
        return "Settings of this workstation and of the site"


def fault_of(name: str, value: str) -> str:
    """What is wrong with a value of a site setting, or nothing."""
    try:
        BY_NAME[name].check(value)
    except ValueError as fault:
        words = str(fault)
        return f"{words[:1].upper()}{words[1:]}."
    return ""


VIEW = View("settings", "Settings", 10, frozenset({"site_setting"}), ("settings", "station"), Settings)
