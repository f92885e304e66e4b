"""Papers between store, printer and window: rendered, printed or looked at, the long ones in steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from cribdesk.crib.refusal import NoClerk
from cribdesk.desk.office import NotePrint
from cribdesk.forecasting import LongPaper
from cribdesk.papers.settings import PaperSettings
from cribdesk.window.background import Fault
from cribdesk.window.doors import paper_words
from cribdesk.window.plot_file import csv_file
from cribdesk.window.preview import PaperTable
from cribdesk.wiring import Wiring, fault_words, token

if TYPE_CHECKING:
    from cribdesk.desk.forecasts import Step


class Papering(Wiring):
    """Makes papers on the store's thread and prints them on the printer's; each print is noted.

    What knows the papers is loaded with the first of them: the counter opens without it.
    """

    @cached_property
    def long_paper(self) -> LongPaper:
        """Makes the papers that take long, one at a time."""
        return LongPaper(
            self.window, self.background, self.printing, self._read_long, self._draw_long, self._made_long
        )

    def print_paper(self, paper: str, of: str) -> None:
        """Renders and prints on the background thread; the journal keeps what came of it, and who printed it."""
        if self.slate.clerk is None:
            self._say_here("refused", NoClerk().words())
            return
        if self._kept_back(paper):
            return
        if in_steps(paper):
            self._make_long(paper, of, to_print=True)
            return

        def rendered(result: tuple[bytes, int] | Fault) -> None:
            if isinstance(result, Fault):
                self._note_print(paper, of, fault_words(result))
            else:
                self.printing.run(lambda: self._on_paper(paper, result[0]), lambda said: self._printed(paper, of, said))

        self.background.run(lambda: self._render(paper, of), rendered)

    def _on_paper(self, paper: str, pdf: bytes) -> str:
        """What went wrong at the printer, or nothing. On a thread of its own: a printer may keep one waiting."""
        try:
            self.printer.print(paper, pdf)
        except OSError as failure:
            return str(failure) or "the printer does not answer"
        return ""

    def _render(self, paper: str, of: str) -> tuple[bytes, int]:
        from cribdesk.desk.printing import next_copy, record_for
        from cribdesk.papers import render

        moment = self.clock()
        with self.desk.store.reading() as reader:
            copy = next_copy(reader, paper, of)
            record = record_for(reader, self.house, paper, of, moment, copy)
        return render(paper, record, self.paper_settings(copy)), copy

    def paper_settings(self, copy: int) -> PaperSettings:
        """How papers come out at this site."""
        found = self.house.settings
        return PaperSettings(
            page="letter" if found["page"] == "letter" else "A4",
            tag=found["tag_size"],
            site=found["site_name"],
            copy=copy,
        )

    def _note_print(self, paper: str, of: str, trouble: str) -> None:
        clerk = self.slate.clerk
        if trouble:
            name = paper_words(paper, "").lower()
            kept = f"The {name} is not printed: {trouble.rstrip('.')}. It is kept; print it again from the journal."
            self._say_here("caution", f"{self.slate.line.words.rstrip('.')}. {kept}" if self.slate.empty else kept)
        note = NotePrint(operation_id=token(), paper=paper, of=of, failed=trouble)
        self.background.run(
            lambda: self._attempt(note, clerk.person_id if clerk else None), lambda _: self.refresh_board()
        )

    def preview(self, paper: str, of: str) -> None:
        """Shows a paper; printing it from there counts as a print."""

        if self._kept_back(paper):
            return
        if in_steps(paper):
            self._make_long(paper, of, to_print=False)
            return

        def shown(result: tuple[bytes, PaperTable] | Fault) -> None:
            if isinstance(result, Fault):
                self._say_here("refused", fault_words(result))
            else:
                self.window.show_paper(paper_words(paper, of), result[0], paper, of, result[1])

        self.background.run(lambda: (self._render(paper, of)[0], self._table(paper, of)), shown)

    def _table(self, paper: str, of: str) -> PaperTable:
        """What the paper says as rows for other programs; none where it is no list."""
        from cribdesk.desk.printing import record_for
        from cribdesk.desk.printouts_orders import RequisitionSheet

        with self.desk.store.reading() as reader:
            record = record_for(reader, self.house, paper, of, self.clock(), 1)
        return record.table() if isinstance(record, RequisitionSheet) else ()

    def _kept_back(self, paper: str) -> bool:
        """Whether who is signed on may not see the paper; that is said."""
        from cribdesk.desk.printing import kept_back

        why = kept_back(paper, self.slate.clerk.roles if self.slate.clerk else "")
        if why:
            self._say_here("refused", why)
        return bool(why)

    def _make_long(self, paper: str, of: str, *, to_print: bool) -> None:
        if not self.long_paper.make(paper, of, to_print=to_print):
            self._say_here("caution", "A long paper is being made already. Wait for it, or call it off.")

    def _read_long(self, paper: str, of: str) -> Iterator[Step]:
        """Its record and the number of its print, on the store's thread."""
        from cribdesk.desk.fleet_picture import Told
        from cribdesk.desk.printing import IN_STEPS, next_copy

        with self.desk.store.reading() as reader:
            copy = next_copy(reader, paper, of)
        for step in IN_STEPS[paper](self.desk.store, self.house, of, self.clock()):
            yield replace(step, data=(step.data, copy)) if isinstance(step, Told) else step

    def _draw_long(self, paper: str, read: tuple[Any, int]) -> Iterator[Step]:
        """The paper and its table, on the printer's thread."""
        from cribdesk.desk.fleet_picture import Told
        from cribdesk.desk.forecasts import Step
        from cribdesk.papers import render_in_steps

        record, copy = read
        for step in render_in_steps(paper, record, self.paper_settings(copy)):
            if isinstance(step, bytes):
                yield Told(1.0, "Drawing it", (step, csv_file(record.table())))
            else:
                yield Step(step, "Drawing it")

    def _made_long(self, paper: str, of: str, to_print: bool, made: tuple[bytes, bytes] | Fault | None) -> None:
        if made is None:
            self._say_here("caution", f"The {paper_words(paper, '').lower()} was called off. Nothing was printed.")
        elif isinstance(made, Fault):
            self._say_here("refused", fault_words(made))
        elif not self._kept_back(paper):  # somebody else may have signed on meanwhile
            if to_print:
                self.printing.run(lambda: self._on_paper(paper, made[0]), lambda said: self._printed(paper, of, said))
            else:
                self.window.show_paper(paper_words(paper, of), made[0], paper, of, made[1])

    def _printed(self, paper: str, of: str, result: str | Fault) -> None:
        self._note_print(paper, of, fault_words(result) if isinstance(result, Fault) else result)


def in_steps(paper: str) -> bool:
    """Whether a paper takes so long that it is made in steps, and looked at before it is printed."""
    from cribdesk.desk.printing import IN_STEPS

    return paper in IN_STEPS
