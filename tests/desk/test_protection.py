"""What an area asks, worked out of what is stored: the published examples, and whatever cannot be compared."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from cribdesk.crib import records
from cribdesk.crib.enough import protection_reasons
from cribdesk.crib.limits import LimitKind
from cribdesk.crib.protection import AgentFinding, AreaProtection, Weighing
from cribdesk.crib.reasons import reasons
from cribdesk.crib.records import (
    Area,
    AreaProcess,
    Assessment,
    AssessmentBasis,
    FactorEvidence,
    Sample,
    SiteLimit,
)
from cribdesk.crib.refusal import Level
from cribdesk.crib.rules import LikeEffect
from cribdesk.desk.air_figures import sampled_average
from cribdesk.desk.area_facts import SayAreaCondition
from cribdesk.desk.assessments import AssessArea, SampleTaken, WithdrawAssessment
from cribdesk.desk.factor_evidence import RecordFactorEvidence, WithdrawFactorEvidence
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.protection import (
    AreaRows,
    area_protection,
    enough_there,
    finding,
    mixtures,
    protection_of,
    respirator_of,
    weighing,
)
from tests.desk.shop import Shop, house
from tests.procedure.house import text_of

TODAY = date(2026, 11, 25)
AREA = Area(id=1, label="A000003P", name="Plate shop, bay 3")
MADE = {"area_id": 1, "made_on": date(2026, 3, 4), "made_by": "T. Ambrus", "document": "Report 1", "by_id": 1}


def made(substance: str, **changes: Any) -> Assessment:
    """A stated finding against the OSHA limit."""
    fields: dict[str, Any] = {"id": 1, "basis": AssessmentBasis.STATED, "limit": "osha", **MADE, **changes}
    return Assessment(substance=substance, **fields)


def found(
    substance: str, *samples: Sample, exposed: float | None = None, site: tuple[SiteLimit, ...] = (),
    under: str = "us_federal", **changes: Any,
) -> AgentFinding:  # fmt: skip
    """The finding, worked out under a rule set."""
    own = replace(house(), settings={**house().settings, "rule_set": under})
    if samples:
        changes = {"basis": AssessmentBasis.SAMPLES, **changes}
    return finding(made(substance, **changes), samples, site, own, TODAY, exposed)


def sample(value: float, minutes: int, *, series: str = "", ppm: bool = False, on: date = TODAY) -> Sample:
    """One air sample, of particles unless it is told in ppm."""
    figures = {"value_ppb": round(value * 1000)} if ppm else {"value_ng_m3": round(value * 1e6)}
    return Sample(assessment_id=1, minutes=minutes, taken_on=on, series=series, **figures)


VAPOUR = SiteLimit(
    substance="try vapour", kind="8 h", limit_ppb=100_000, source="1910.1000(d) example", from_on=date(2026, 1, 1)
)


def test_the_shift_average_of_the_standard() -> None:
    """29 CFR 1910.1000(d)(1)(ii): 2 h at 150, 2 h at 75, 4 h at 50 ppm are 81.25 ppm, within 100."""
    taken = (sample(150, 120, ppm=True), sample(75, 120, ppm=True), sample(50, 240, ppm=True))
    one = found("try vapour", *taken, site=(VAPOUR,), limit=VAPOUR.source)
    assert one.average == pytest.approx(81.25)
    assert (one.ratio, one.over) == (pytest.approx(0.8125), False)
    assert not one.particle


def test_the_mixture_of_the_standard() -> None:
    """29 CFR 1910.1000(d)(2)(ii): 500 of 1000, 45 of 200 and 40 of 200 ppm together are 0.925."""
    own = replace(house().rules, like_effects=(LikeEffect("try", ("a", "b", "c"), "1910.1000(d)(2)(ii)"),))
    agents = []
    for name, figure, limit in (("a", 500, 1000), ("b", 45, 200), ("c", 40, 200)):
        its = replace(VAPOUR, substance=name, limit_ppb=limit * 1000)
        agents.append(found(name, site=(its,), limit=its.source, concentration_ppb=figure * 1000))
    (one,) = mixtures(agents, own)
    assert one.index == pytest.approx(0.925)
    assert mixtures(agents[:1], own) == ()


def test_time_that_was_not_sampled() -> None:
    """Half a day sampled at 4 mg/m3 stands for the whole exposed time; only who knows it clean counts it as zero."""
    half = [(4.0, 4.0)]
    assert sampled_average(half) == pytest.approx(4.0)
    assert sampled_average(half, 6.0) == pytest.approx(3.0)
    assert sampled_average(half, None) == pytest.approx(2.0)
    # twa2 of worked_examples.md: 10 h at 90 ppm are 112.5 as an 8-hour average
    assert sampled_average([(90.0, 10.0)]) == pytest.approx(112.5)


def test_the_worst_day_counts_and_the_hygienist_is_not_made_milder() -> None:
    """The highest of days and wearers; a stated average stands unless a whole day's samples are above it."""
    days = (sample(2.0, 480, series="a"), sample(5.0, 480, series="b"), sample(1.0, 480, on=date(2026, 11, 24)))
    assert found("iron_oxide_fume", *days, measured_as="Fe2O3").average == pytest.approx(5.0)
    stated = {"concentration_ng_m3": 3_000_000, "measured_as": "Fe2O3"}
    assert found("iron_oxide_fume", *days, **stated).average == pytest.approx(5.0)
    assert found("iron_oxide_fume", sample(4.0, 240), **stated).average == pytest.approx(3.0)


def test_iron_counts_as_its_oxide() -> None:
    """worked_examples.md cv1: 1 mg/m3 of Fe is 1.430 of Fe2O3, as the limit of 10 is measured (OSHA chemical data)."""
    one = found("iron_oxide_fume", concentration_ng_m3=7_000_000, measured_as="Fe")
    assert one.worst is not None
    assert one.worst.concentration == pytest.approx(7 * 1.4297, rel=1e-4)
    assert one.over


def test_what_cannot_be_compared() -> None:
    """Another metal, a gas's figure for particles: said, and never judged."""
    assert "cannot be held against" in found("iron_oxide_fume", concentration_ng_m3=1, measured_as="V").trouble
    assert "another unit" in found("iron_oxide_fume", concentration_ppb=1, measured_as="Fe2O3").trouble


def test_a_ceiling_is_never_judged_by_an_average() -> None:
    """Manganese, vanadium pentoxide fume and NO2 have a ceiling and no 8-hour limit: 29 CFR 1910.1000(a)(1)."""
    for substance, figure in (
        ("manganese", {"concentration_ng_m3": 3_000_000}),
        ("vanadium_fume", {"concentration_ng_m3": 10_000}),
        ("nitrogen_dioxide", {"concentration_ppb": 1000}),
    ):
        one = found(substance, **figure)
        assert (one.ceiling_only, one.judged, one.known) == (True, (), True), substance
    # worked_examples.md hr1
    short = found("manganese", short_ng_m3=12_000_000)
    assert (short.ratio, short.ceiling_only) == (pytest.approx(2.4), False)
    assert short.worst is not None
    assert short.worst.kind is LimitKind.CEILING


def test_a_short_sample_is_a_short_term_figure_and_no_average() -> None:
    """Fifteen minutes or less (29 CFR 1910.1000(a)(1)); longer ones make the average."""
    both = found("manganese", sample(3.0, 15), sample(0.4, 465))
    assert (both.short, both.average) == (pytest.approx(3.0), pytest.approx(0.4))
    assert found("manganese", sample(3.0, 16)).ceiling_only


def test_the_stricter_of_the_chosen_and_the_binding_limit_decides() -> None:
    """A hygienist may choose the NIOSH recommendation; the OSHA limit binds all the same."""
    chosen = found("nickel_insoluble", concentration_ng_m3=150_000, limit="niosh")
    assert chosen.ratio == pytest.approx(10.0)  # 0.15 of 0.015
    assert {one.body for one in chosen.judged} == {"osha", "niosh"}
    binding = found("nickel_insoluble", concentration_ng_m3=150_000)
    assert binding.ratio == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("hours", "limit"),
    [(8.0, 0.05), (10.0, 0.04), (12.0, 0.0333)],
)
def test_lead_on_long_days(hours: float, limit: float) -> None:
    """worked_examples.md lead10, lead12: 29 CFR 1910.1025(c)(2), 400 ug/m3 divided by the hours."""
    one = found("lead", concentration_ng_m3=30_000, exposed=hours)
    assert one.worst is not None
    assert one.worst.limit == pytest.approx(limit, abs=5e-5)
    assert one.worst.lawful is (hours > 8)
    assert one.long_day is None  # the law has done it already


@pytest.mark.parametrize(("hours", "factor"), [(8.0, None), (10.0, 0.7), (12.0, 0.5)])
def test_other_limits_on_long_days_stay(hours: float, factor: float | None) -> None:
    """worked_examples.md bs10, bs12: Brief and Scala stands beside the limit, never in its place."""
    one = found("zinc_oxide_fume", concentration_ng_m3=1_000_000, exposed=hours)
    assert one.long_day == (pytest.approx(factor) if factor else None)
    assert one.worst is not None
    assert one.worst.limit == 5.0


def test_california_by_setting() -> None:
    """8 CCR 5198(c): the same lead is five times as much of the limit there."""
    figures = {"concentration_ng_m3": 20_000}
    assert found("lead", **figures).ratio == pytest.approx(0.4)
    assert found("lead", under="us_california", **figures).ratio == pytest.approx(2.0)


def test_a_foreign_limit_is_named() -> None:
    """Under the United Kingdom's set the OSHA limit does not bind; a site's own does."""
    assert found("lead", concentration_ng_m3=20_000, under="uk").foreign == "OSHA limit"
    own = SiteLimit(
        substance="lead", kind="8 h", limit_ng_m3=150_000, measured_as="Pb", source="own list", from_on=TODAY
    )
    its = found("lead", concentration_ng_m3=20_000, under="uk", site=(own,), limit="own list")
    assert (its.foreign, its.ratio) == ("", pytest.approx(20 / 150))


def test_what_nobody_found_is_not_known() -> None:
    """There and not assessed; a finding on samples that has none yet is not known either."""
    assert not found("ozone", document="", made_by="").known
    assert not found("ozone", basis=AssessmentBasis.SAMPLES).known


def test_no_limit_is_known_for_it() -> None:
    """There is no federal limit of welding fume as a whole: nothing is judged, and the issue stops."""
    assert found("welding_fumes_total", concentration_ng_m3=1_000_000).judged == ()


@pytest.mark.parametrize(("worn", "left"), [(8.0, 25.0), (7.5, 10.0), (7.0, 6.25)])
def test_protection_counts_only_while_worn(worn: float, left: float) -> None:
    """worked_examples.md wear1 to wear3: factor 25 worn 7 of 8 h protects like 6.25 (29 CFR 1926.62(c)(3))."""
    respirator = respirator_of(house().models["WL1"], house().rules)
    area = AreaProtection("x", True, exposed_hours=8.0)
    own = replace(house(), settings={**house().settings, "hours_a_day": "8"})
    with_ = weighing(own, respirator, area, TODAY, (worn, 8.5))
    assert with_.effective == (None if worn == 8 else pytest.approx(left))


def test_whoever_comes_late_is_exposed_for_the_rest_only() -> None:
    """Three hours to the end of the shift, all of them worn: nothing is left out. Of several days each by itself."""
    respirator = respirator_of(house().models["WL1"], house().rules)
    area = AreaProtection("x", True, exposed_hours=7.0)
    assert weighing(house(), respirator, area, TODAY, (3.0, 3.0)).effective is None
    assert weighing(house(), respirator, area, TODAY, (14.0, 32.0)).effective is None
    longer = replace(area, exposed_hours=8.0)
    late = weighing(house(), respirator, longer, TODAY, (14.0, 32.0))
    assert (late.worn_hours, late.exposed_hours, late.effective) == (7.0, 8.0, pytest.approx(6.25))
    assert weighing(house(), respirator, replace(area, exposed_hours=None), TODAY, (3.0, 3.0)).effective is None


def rows(*processes: AreaProcess) -> AreaRows:
    """An area of which only processes are stored."""
    return AreaRows({}, {}, (), {}, {1: list(processes)}, {})


def shade_rows() -> Iterator[tuple[str, AreaProcess, float]]:
    """Each row of 29 CFR 1910.133(a)(5) with a process in the middle of it."""
    for row in csv.DictReader(text_of("tables", "shade_minimums.csv").splitlines()):
        figures = {}
        for name, scale in (("electrode_32nds", 1), ("current_a", 1), ("plate_in", 64)):
            low, high = row[f"{name}_min"], row[f"{name}_max"]
            if low:
                middle = (float(low) + float(high)) / 2 if high else float(low) + 1
                figures["plate_64ths" if name == "plate_in" else name] = round(middle * scale)
        yield row["row_id"], AreaProcess(area_id=1, operation=row["operation"], **figures), float(row["minimum_shade"])


@pytest.mark.parametrize(("row", "process", "shade"), list(shade_rows()))
def test_shade_row_by_row(row: str, process: AreaProcess, shade: float) -> None:
    """29 CFR 1910.133(a)(5): a lens that reaches 13 does for each row but carbon arc welding (14)."""
    area = protection_of(rows(process), house(), AREA, TODAY)
    assert [one.minimum for one in area.shades] == [shade]
    for code in ("WL1", "AD1"):
        respirator = respirator_of(house().models[code], house().rules)
        weighed = protection_reasons(area, respirator, Weighing(house().rules, TODAY))
        (said,) = [one.level for one in weighed if one.code == "shade"]
        assert said is (Level.STOP if shade > 13 else Level.FINE)


def test_the_darkest_of_several_processes_decides() -> None:
    """Soldering beside carbon arc welding: the lens has to reach the darker."""
    both = [AreaProcess(area_id=1, operation=name) for name in ("TORCH_SOLDERING", "CARBON_ARC_WELDING")]
    area = protection_of(rows(*both), house(), AREA, TODAY)
    respirator = respirator_of(house().models["WL1"], house().rules)
    weighed = protection_reasons(area, respirator, Weighing(house().rules, TODAY))
    assert [one.level for one in weighed if one.code == "shade"] == [Level.STOP]


def test_evidence_raises_a_helmet_and_no_loose_fitting_facepiece() -> None:
    """29 CFR 1910.134(d)(3)(i)(A), Table 1, note 4: 1000 by the maker's evidence; no such route in the next column."""
    paper = FactorEvidence(model="WH1", factor=1200, document="Test 7", dated_on=date(2026, 2, 1), by_id=1)
    rules, models = house().rules, house().models
    assert respirator_of(models["WH1"], rules).factor == 25
    assert respirator_of(models["WH1"], rules).raised == 1000
    with_paper = respirator_of(models["WH1"], rules, paper)
    assert (with_paper.factor, with_paper.raised, "Test 7" in with_paper.evidence) == (1000, None, True)
    assert respirator_of(models["WL1"], rules, replace(paper, model="WL1")).factor == 25
    assert respirator_of(models["FF1"], rules, replace(paper, model="FF1")).factor == 1000


# On a store: from the operation to the counter's line.


def codes(shop: Shop, area_name: str = "bay-3", unit: str = "wl-1") -> dict[str, Level]:
    """What an issue there would say of protection, by code."""
    ids = IssueIds(_id(shop, unit, "Unit"), _id(shop, "Wronecka", "Person"), area_id=_id(shop, area_name, "Area"))
    with shop.store.reading() as reader:
        facts = facts_of(reader, house(), ids, shop.moment)
    return {one.code: one.level for one in reasons(facts, shop.moment)}


def _id(shop: Shop, name: str, kind: str) -> int:
    return int(shop.record(getattr(records, kind), name).id)


def test_a_withdrawn_finding_stops(own_shop: Shop) -> None:
    """An agent whose finding is taken back and that is still there is not known; without any, nothing is."""
    assert codes(own_shop)["enough"] is Level.FINE
    area = own_shop.record(Area, "bay-3")
    with own_shop.store.reading() as reader:
        first, second = reader.find(Assessment, area_id=area.id)
    own_shop.do(WithdrawAssessment, assessment_id=first.id, why="wrong filter weighed")
    assert codes(own_shop)["not-assessed"] is Level.STOP
    own_shop.do(WithdrawAssessment, assessment_id=second.id, why="wrong day", still_there=False)
    with own_shop.store.reading() as reader:
        assert not area_protection(reader, house(), area, own_shop.moment).assessed
    assert codes(own_shop)["not-assessed"] is Level.STOP


def test_samples_reach_the_counter(own_shop: Shop) -> None:
    """Samples of the office are worked out and weighed: 80 ug/m3 of a limit of 5 stays within 25, 180 does not."""
    for figure, code in ((80.0, "enough"), (180.0, "factor")):
        own_shop.do(
            AssessArea, area_id=_id(own_shop, "bay-3", "Area"), substance="chromium_vi", unit="ug/m3",
            basis=AssessmentBasis.SAMPLES, made_on=date(2026, 11, 20), made_by="T. Ambrus", document="Report 2",
            samples=(SampleTaken(figure, 400, date(2026, 11, 18)),),
        )  # fmt: skip
        assert code in codes(own_shop)


def test_what_holds_of_the_place(own_shop: Shop) -> None:
    """The last saying stands."""
    area = _id(own_shop, "bay-3", "Area")
    own_shop.do(SayAreaCondition, area_id=area, said_on=TODAY, explosive=True)
    assert codes(own_shop)["explosive"] is Level.STOP
    own_shop.do(SayAreaCondition, area_id=area, said_on=TODAY, exposed_minutes=420)
    assert "explosive" not in codes(own_shop)


def test_evidence_on_a_store(own_shop: Shop) -> None:
    """Recorded it counts, withdrawn it does not."""
    area = own_shop.record(Area, "bay-3")

    def factor() -> float | None:
        with own_shop.store.reading() as reader:
            there = enough_there(reader, house(), area, own_shop.moment)
        return next(one.respirator.factor for one in there if one.respirator.model == "WH1")

    assert factor() == 25
    own_shop.do(RecordFactorEvidence, model="WH1", factor=1000, document="Test 7", dated_on=date(2026, 2, 1))
    assert factor() == 1000
    with own_shop.store.reading() as reader:
        (paper,) = reader.find(FactorEvidence)
    own_shop.do(WithdrawFactorEvidence, evidence_id=paper.id, why="the maker took it back")
    assert factor() == 25


def test_a_rule_set_without_a_file_stops(own_shop: Shop) -> None:
    """Nothing is judged by a set that is not there."""
    bare = replace(house(), rule_sets={})
    unit, person, area = (_id(own_shop, *one) for one in (("wl-1", "Unit"), ("Wronecka", "Person"), ("bay-3", "Area")))
    ids = IssueIds(unit, person, area_id=area)
    with own_shop.store.reading() as reader:
        found = reasons(facts_of(reader, bare, ids, own_shop.moment), own_shop.moment)
    assert found[0].code == "no-rules"
    assert found[0].level is Level.STOP


def test_intervals_follow_the_rule_set() -> None:
    """A fit test runs a year by 29 CFR 1910.134(f)(2), two years by the United Kingdom's set (INDG479, from memory).

    A powered unit is examined with its flow measured every month there (COSHH L5), whatever the site's own days are.
    """
    lax = {**house().settings, "assigned_inspection_days": "90"}
    federal = replace(house(), settings=lax)
    kingdom = replace(house(), settings={**lax, "rule_set": "uk"})
    fit = records.ClearanceKind.FIT_TEST
    assert (federal.clearance_months[fit], kingdom.clearance_months[fit]) == (12, 24)
    powered = replace(house().models["WL1"], inspect_days=None)
    plain = replace(house().models["HM1"], inspect_days=None)
    assert [one.inspection_days(powered) for one in (federal, kingdom)] == [90, 30]
    assert [one.inspection_days(plain) for one in (federal, kingdom)] == [90, 90]
