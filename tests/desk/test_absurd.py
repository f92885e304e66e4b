"""Figures that cannot be, said at the counter: refused in words with nothing kept, or doubted; never a pass."""

from __future__ import annotations

from math import inf, nan

import pytest

from cribdesk.crib.refusal import WrongFigure
from cribdesk.desk import air
from cribdesk.desk.return_ import CompleteReturn
from cribdesk.procedure.answers import Measured, Timed
from cribdesk.procedure.page import mark, page
from cribdesk.procedure.run import Run, answer, saying
from tests.desk.shop import Shop
from tests.desk.test_operations_custody import returned
from tests.window import samples

NO_READING = (-5.0, -0.1, 9999.0, 99999.99, nan, inf, -inf)


def read(run: Run, shown: float, celsius: float = 20.0, hectopascals: float | None = None) -> Run:
    """A reading in that air is weighed and answered as at the counter."""
    given = Measured(shown, "M0000012", temperature_c=celsius, pressure_hpa=hectopascals)
    return answer(run, air.measured(samples.HOUSE, run.model, given, None, 2.0, True), samples.NOW, 1.0)


@pytest.mark.parametrize("shown", NO_READING)
def test_no_reading_at_all_is_refused(shown: float) -> None:
    """Below nought, 9 999, or no number: refused with the reason, with the air weighed or not; the run stands."""
    run = samples.run_at("airflow")
    with pytest.raises(ValueError, match=r"negative|finite|number"):
        read(run, shown)
    with pytest.raises(ValueError, match=r"figure|number|negative"):
        answer(run, Measured(shown, "M0000012", temperature_c=20.0), samples.NOW, 1.0)
    assert page(run).step == "airflow"


@pytest.mark.parametrize(
    ("shown", "sign", "words"),
    [(0.0, "not good", "170 below the minimum"), (0.4, "not good", "below the minimum"),
     (240.0, "caution", "more than this model can give"), (999.0, "caution", "more than this model can give")],
)  # fmt: skip
def test_nothing_and_far_too_much_never_pass(shown: float, sign: str, words: str) -> None:
    """No air at all begins the ladder; more than the model can give asks to look inside. Neither goes on."""
    run = samples.run_at("airflow")
    counts = air.measured(samples.HOUSE, run.model, Measured(shown, "M0000012", temperature_c=20.0), None, 2.0, True)
    assert (mark(run, counts), words in saying(run, counts)) == (sign, True)
    after = read(run, shown)
    assert page(after).kind == "remedy"
    assert after.asked[-1].good is False


@pytest.mark.parametrize("celsius", [-300.0, -273.15, 9999.0, nan, inf])
def test_air_that_cannot_be_weighs_nothing(celsius: float) -> None:
    """No temperature of a crib: refused before anything is judged."""
    with pytest.raises(ValueError, match="between"):
        read(samples.run_at("airflow"), 190.0, celsius)


@pytest.mark.parametrize("hectopascals", [0.0, -5.0, 9999.0, nan])
def test_a_pressure_that_cannot_be_weighs_nothing(hectopascals: float) -> None:
    """No barometer's figure: refused."""
    with pytest.raises(ValueError, match="pressure"):
        read(samples.run_at("airflow"), 190.0, 20.0, hectopascals)


@pytest.mark.parametrize("seconds", [-1.0, nan, inf])
def test_a_clock_that_cannot_be_is_refused(seconds: float) -> None:
    """A timed step takes no time below nought and none without end."""
    run = samples.run_at("alarm")
    with pytest.raises(ValueError, match=r"second|number|time"):
        answer(run, Timed(seconds), samples.NOW, 1.0)


def head(shop: Shop) -> int:
    """How many entries the journal has."""
    with shop.store.reading() as reader:
        return reader.head().seq


@pytest.mark.parametrize("worn", [9999.0, -1.0, nan, inf])
def test_hours_that_cannot_be_are_not_kept(own_shop: Shop, worn: float) -> None:
    """More than the clock allows, below nought, no number: refused, the meter stays where it was."""
    custody, before = returned(own_shop), head(own_shop)
    with pytest.raises(WrongFigure):
        own_shop.do(CompleteReturn, custody_id=custody.id, worn_hours=worn)
    assert head(own_shop) == before
