"""The shop's store, built once, and the real window on a copy of it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication

from cribdesk import opening
from cribdesk.store.connect import open_store
from cribdesk.window.check import timed
from tests.desk.shop import Shop
from tests.window.desk_window import Clock, DeskWindow, StepClock, stand
from tests.window.moment import OPENED

Stand = Callable[..., DeskWindow]


@pytest.fixture(scope="session")
def shop_built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """The shop's store file and the labels of its names."""
    file = tmp_path_factory.mktemp("shop") / "shop.sqlite"
    with open_store(str(file), create=True) as store:
        names = dict(Shop(store).build().names)
    return file, names


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The moment of everything, set by hand."""
    made = Clock(OPENED)
    monkeypatch.setattr(opening, "now", made)
    return made


@pytest.fixture
def standing(qapp: QApplication, tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Iterator[Stand]:
    """Opens windows on any store, and closes them at the end."""
    monkeypatch.setattr(timed, "QElapsedTimer", StepClock)
    opened: list[DeskWindow] = []

    def make(
        store: Path | str, names: dict[str, str] | None = None, *, create: bool = False, folder: Path = tmp_path
    ) -> DeskWindow:
        opened.append(stand(store, folder, clock, names or {}, create=create))
        return opened[-1]

    yield make
    for one in opened:
        one.close()


@pytest.fixture
def shop_file(shop_built: tuple[Path, dict[str, str]], tmp_path: Path) -> Path:
    """A copy of the shop's store."""
    return Path(shutil.copyfile(shop_built[0], tmp_path / "store.sqlite"))


@pytest.fixture
def desk(standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]) -> DeskWindow:
    """The window on a copy of the shop, nobody signed on yet."""
    return standing(shop_file, shop_built[1])


@pytest.fixture
def signed_on(desk: DeskWindow) -> DeskWindow:
    """The same with Rhea Castel, who may do everything but administer, at the counter."""
    desk.sign_on()
    return desk


@pytest.fixture(autouse=True)
def _no_window_left() -> Iterator[None]:
    """What a test closed is gone after it: a window that lingers is dressed again at every change of the look."""
    yield
    if isinstance(QApplication.instance(), QApplication):
        for left in QApplication.topLevelWidgets():
            if not left.isVisible():
                left.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
