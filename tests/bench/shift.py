"""Forty units inspected at the bench beforehand, handed out by scanner: what the program itself takes."""

from __future__ import annotations

from pathlib import Path

from cribdesk.app import App, bars_of
from cribdesk.desk.counter import Counter
from cribdesk.desk.house import House
from cribdesk.opening import OpenDesk, sample_clock
from cribdesk.station import Station
from cribdesk.store.connect import open_store
from cribdesk.window.background import Background
from cribdesk.window.hands import press, scan
from cribdesk.window.main import MainWindow
from cribdesk.window.sounds import Sounds
from cribdesk.window.speak import Speak
from cribdesk.window.start import wait_until
from tests.bench.measure import Row, timed
from tests.desk.shop import Shop

PEOPLE = 40


class NoPrinter:
    """Takes every paper."""

    def print(self, paper: str, pdf: bytes) -> None:
        """Nothing is kept."""


def row(house: House, folder: Path) -> Row:
    """Badge, unit, pack, area, F5, four answers, badge: forty times through the real window."""
    file = folder / "shift.sqlite"
    with open_store(str(file), create=True) as store:
        shop = Shop(store).build()
        shop.crowd(PEOPLE)
    clock = sample_clock(shop.moment)
    window = MainWindow(house, bars=bars_of)
    window.show()
    background = Background("store", window)
    opened: list[OpenDesk] = []

    def stand() -> OpenDesk:
        found = open_store(str(file))
        return OpenDesk(found, Counter(found, house, clock, "Counter 1"), clock, None)

    background.run(stand, opened.append)
    assert wait_until(lambda: bool(opened), 20)
    speak = Speak(Sounds(), window)
    speak.sounds.set_volume(0)
    app = App(window, background, opened[0], Station(folder / "shift.json"), NoPrinter(), speak)

    def rest() -> None:
        assert wait_until(lambda: not app.busy(), 20)

    def take(label: str) -> None:
        scan(window, label)
        rest()

    def key(name: str) -> None:
        press(window, name)
        rest()

    def hand_out(number: int) -> None:
        badge = shop.names[f"wearer-{number}"]
        for label in (badge, shop.names[f"unit-{number}"], shop.names[f"crowd-pack-{number}"], shop.names["bay-3"]):
            take(label)
        key("F5")
        while app.slate.check is not None:
            key("F5")
        take(badge)
        assert app.slate.empty, app.slate.line.words

    rest()
    take(shop.names["Castel"])
    times = timed([lambda number=number: hand_out(number) for number in range(1, PEOPLE + 1)])  # type: ignore[misc]
    app.stop()
    background.run(opened[0].store.close, lambda _: None)
    background.close()
    window.close()
    return Row(
        f"{PEOPLE} units handed out by scanner",
        f"{sum(times.seconds) / PEOPLE:.2f} s each of the program's own time, slip included",
        "5 scans and 5 keys each",
        "",
        "about 15 s each in people's time",
    )
