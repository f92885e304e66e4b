"""Own records and settings between store and window: forms are shown, entered, told field by field."""

from __future__ import annotations

from abc import abstractmethod

from cribdesk.crib.refusal import NotAllowed
from cribdesk.desk.entry_form import ABOUT, Asked, Entered, EntryForm, FormTroubles, troubles_of
from cribdesk.desk.office import SetSetting
from cribdesk.desk.ports import Reader
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.slate import Changed
from cribdesk.papering import Papering, in_steps
from cribdesk.station import Station
from cribdesk.window.background import Fault
from cribdesk.window.printing import printers
from cribdesk.window.speak import Speak
from cribdesk.window.start import dress
from cribdesk.wiring import fault_words, token

LABELS = "label_sheet"


class Entering(Papering):
    """Forms for the office and the settings. The forms are loaded with the first: the counter opens without them."""

    @abstractmethod
    def scan(self, text: str, by_position: str = "") -> None:
        """A label comes in as if scanned. The app says how."""

    def want_entry(self, form_id: str, about: str = "") -> None:
        """A form for own records, as store and models are now; `about` is the label of what it is about."""
        from cribdesk.desk.entry_forms import form_of, may_open

        why = may_open(form_id, self.slate.clerk.roles if self.slate.clerk else "")
        if why:
            self._say_here("refused", why)
            return
        self._ask(lambda reader: form_of(self._asked(reader, about), form_id), self.window.show_entry)

    def enter(self, form_id: str, values: dict[str, str]) -> None:
        """What was typed into a form is done, or told field by field; the form is then free for the next."""
        operation_id, clerk = token(), self.slate.clerk
        self._remember(operation_id)

        def work() -> Entered:
            from cribdesk.desk.entry_forms import about_next, closes, next_form, operation_of

            about = values.get(ABOUT, "")
            try:
                with self.desk.store.reading() as reader:
                    operation = operation_of(self._asked(reader, about), form_id, values, operation_id)
                receipt = self._done(operation, clerk.person_id if clerk else None)
            except (FormTroubles, NotAllowed) as failure:
                return Entered(self._form(form_id, about), troubles_of(failure))
            after = None if closes(form_id) else self._form(next_form(form_id), about_next(form_id, values))
            return Entered(after, (), receipt, self._named(receipt))

        def entered(result: Entered | Fault) -> None:
            self._forget(operation_id)
            self._entered(form_id, result)

        self.background.run(work, entered)

    def _form(self, form_id: str, about: str) -> EntryForm:
        from cribdesk.desk.entry_forms import form_of

        with self.desk.store.reading() as reader:
            return form_of(self._asked(reader, about), form_id)

    def _asked(self, reader: Reader, about: str = "") -> Asked:
        return Asked(reader, self.house, self.clock(), about)

    def _entered(self, form_id: str, result: Entered | Fault) -> None:
        from cribdesk.desk.entry_changes import RELABEL
        from cribdesk.desk.entry_forms import FIRST, closes, labels_of

        if isinstance(result, Fault):
            self.window.entry.show_fault(fault_words(result))
            self._say_here("refused", fault_words(result))
            return
        still_open = self.window.entry_open()
        if result.receipt is not None and form_id == RELABEL:
            self._follow(*result.receipt.subjects)
        if still_open:
            if result.receipt is not None and closes(form_id):
                self.window.entry.leave()
            elif result.form is not None:
                self.window.show_entry(result.form, result.troubles)
        if result.receipt is None:
            whole = next((words for field, words in result.troubles if not field), "")
            self._say_here("refused", whole or "Not entered yet: see the red lines", "")
            return
        labels = labels_of(form_id, result.receipt)
        self.window.entry.show_done(result.words, labels[0] if labels else "", ",".join(labels))
        self._after(result.receipt)
        self.feed(Changed(self.clock(), result.receipt.topics))
        self._say_here("taken", result.words, "")
        for paper, of in result.receipt.papers:
            if in_steps(paper):  # looked at first
                self.preview(paper, of)
            elif paper != LABELS:  # those are offered in the form, to be printed when the sheet lies in the printer
                self.print_paper(paper, of)
        if form_id == FIRST:
            self.scan(result.receipt.subjects[0])

    def _follow(self, fresh: str, old: str) -> None:
        """The page under the form was of a label that died: it is of the fresh one now."""
        if self.window.place()[1] == old:
            self.window.doors.open_label(fresh)

    # Settings.

    def _station_set(self, name: str, value: str) -> None:
        trouble = self.station.set(name, value)
        if trouble:
            self._say_here("caution", trouble)
        apply_station(self.station, self.speak)
        self._show_station()

    def _show_station(self) -> None:
        self.window.show_station({**self.station.values, "printers": "\n".join(printers())})

    def _site_set(self, name: str, value: str) -> None:
        clerk = self.slate.clerk
        operation = SetSetting(operation_id=token(), setting=name, value=value)

        def done(result: Receipt | NotAllowed | Fault) -> None:
            if isinstance(result, Receipt):
                self._after(result)
                self._say_here("taken", result.sentence)
            else:
                words = result.words() if isinstance(result, NotAllowed) else fault_words(result)
                self._say_here("refused", words)
            self.window.show_place("settings", dict(self.house.settings))

        self.background.run(lambda: self._attempt(operation, clerk.person_id if clerk else None), done)


def apply_station(station: Station, speak: Speak) -> None:
    """Puts the workstation's settings into force while the program runs."""
    dress(station.scale, station["shade"])
    apply_volume(station, speak)


def apply_volume(station: Station, speak: Speak) -> None:
    """How loud the sounds are."""
    volume = station["volume"]
    speak.sounds.set_volume(min(100, int(volume)) / 100 if volume.isdecimal() else 0.6)
