"""What happens on the day: its hours, in the proportions of a crib that works."""

from __future__ import annotations

from itertools import cycle

from tests.sample.day import Day

LENSES = (
    "WL1-COVER-OUT", "WL1-PREFILTER", "SWEATBAND", "LENS-CELL", "WL1-COVER-OUT", "WL1-PREFILTER", "SWEATBAND",
    "WL1-COVER-IN", "WL1-COVER-OUT", "WL1-PREFILTER", "SWEATBAND", "LENS-CELL",
)  # fmt: skip
"""What goes over the counter most."""


def wearers(day: Day, model: str) -> list[str]:
    """Who has worn that model, by label; those who have a unit now left out."""
    rows = day.run(
        "SELECT DISTINCT p.label FROM custody c JOIN unit u ON u.id = c.unit_id JOIN person p ON p.id = c.person_id "
        "WHERE u.model = ? AND p.active AND p.roles = '' ORDER BY p.label", (model,),
    ).fetchall()  # fmt: skip
    return [label for (label,) in rows if label not in day.tally.holder.values()]


def live(day: Day, share: float) -> None:
    """The whole shift; `share` is how much of its busiest work is done."""
    crew = _staff(day)
    morning(day, crew, share)
    forenoon(day, share)
    second_wave(day, share)
    rest_of_the_crib(day, crew)
    afternoon(day, share)
    evening(day, crew)


def _staff(day: Day) -> dict[str, str]:
    """A clerk with two roles, another attendant, the administrator, one who only wears."""
    rows = dict(day.run("SELECT roles, label FROM person WHERE active AND roles <> '' ORDER BY id").fetchall())
    return {
        "all-round": rows["attendant,bench technician"], "attendant": rows["attendant"],
        "bench": rows["bench technician"], "program": rows["program administrator"],
    }  # fmt: skip


def morning(day: Day, crew: dict[str, str], share: float) -> None:
    """05:40: the first scan; the night's come back, the shift's units go out, the rest of the rack is counted."""
    day.refused("nobody", "card rack-audit")
    day.sign_on(crew["all-round"])
    day.at(5, 45)
    tally = day.tally
    night = sorted(set(tally.holder) & set(tally.pack_in) - tally.assigned)
    _made_ready(day, [one for one in night if day.model[one] == "WL1" and tally.state[one] == "ready"])
    rack = sorted(unit for unit in tally.of("ready") if tally.where[unit] == "rack")
    kept_here = set(rack[::4])  # these stay for what else is to be done today
    for model in ("WL1", "WH1", "FF1", "HM1", "AD1"):
        people = wearers(day, model)
        for unit in [one for one in rack if day.model[one] == model and one not in kept_here]:
            while people and not day.issue(unit, people.pop(0)):
                pass
            day.do("+20s")
    _audit(day)


def _audit(day: Day) -> None:
    """The rack is scanned: one unit of the book is not there, and is missing from then on."""
    here = sorted(unit for unit, where in day.tally.where.items() if where == "rack")
    absent, there = here[0], here[1:]
    day.refused("empty audit", "card rack-audit", "card done")
    day.matter("rack-audit", "card rack-audit", *[f"scan {unit}" for unit in there], "card done")
    day.tally.audits += 1
    day.matter("missing", f"scan {absent}", "card missing", "card done")
    day.tally.where[absent] = "missing"
    day.missing.append(absent)


def out_with(day: Day, model: str) -> list[str]:
    """Units of the model that went out today with a pack, by label."""
    tally = day.tally
    here = day.today & set(tally.holder) - tally.assigned
    return sorted(unit for unit in here if day.model[unit] == model and unit in tally.pack_in)


def forenoon(day: Day, share: float) -> None:
    """Until ten: the counter's busiest work, and what goes wrong."""
    out = out_with(day, "WL1")
    _hand_outs(day, out, round(180 * share))
    day.at(8, 30)
    _swaps(day, out[: round(14 * share) or 1])
    _people(day, out)
    day.at(9, 30)
    _exchange(day, out[-1])
    _assign(day)


def _swaps(day: Day, units: list[str]) -> None:
    """Flat packs in, charged ones out; the flat ones are charged again. The pack itself is no charged one."""
    flat = []
    for unit in units:
        pack = day.tally.pack_in[unit]
        day.refused("swap", f"scan {pack}", f"scan {pack}", "card done")
        flat.append(day.swap(unit))
    day.charge(flat)
    day.do("+50m")
    day.charged(flat)


def _hand_outs(day: Day, units: list[str], many: int) -> None:
    """So many hand-outs to the wearers of these units, one after the other."""
    for number, unit in zip(range(many), cycle(units), strict=False):
        day.do("+40s")
        code = LENSES[number % len(LENSES)]
        fitted = code == "WL1-COVER-OUT" and number % 5 == 0
        day.hand_out(day.tally.holder[unit], code, 2 if number % 4 == 3 else 1, fitted=fitted)


def _people(day: Day, out: list[str]) -> None:
    """A wish, a beard that is gone again, a badge that stayed at home, a contractor's badge that ended."""
    wearer, other = day.tally.holder[out[0]], day.tally.holder[out[1]]
    day.matter("refusal", f"scan {wearer}", "card refusal", "fill kind asks for a powered respirator", "card done")
    tight = sorted(unit for unit in day.tally.of("ready") if day.model[unit] == "FF1")
    about = [f"scan {tight[0]}"] if tight else []
    day.matter(
        "refusal", f"scan {other}", *about, "card refusal", "fill kind facial hair at the seal", "card done"
    )
    day.tally.notices += 2
    if tight:
        day.clear()
        day.matter("seal-clear", f"scan {other}", *about, "card seal-clear")
    day.matter(
        "hand-out", f"find {wearer}", "card done", f"scan {day.items['SWEATBAND']}", "card done",
    )  # fmt: skip
    day.gave(day.items["SWEATBAND"], 1)


def _exchange(day: Day, unit: str) -> None:
    """A bad unit comes in and is held; another goes out to the same wearer."""
    wearer = day.tally.holder[unit]
    day.refused("exchange", f"scan {unit}", "press exchange", "card done")
    day.matter("exchange", f"scan {unit}", "press exchange", "fill reason airflow", "card done", papers="tag")
    day.came_back(unit)
    day.tally.state[unit] = "on hold"
    spare = next(one for one in sorted(day.tally.of("ready")) if day.model[one] == "WL1")
    assert day.issue(spare, wearer)


def _assign(day: Day) -> None:
    """A unit goes out for weeks; its wearer checks it."""
    free = [one for one in sorted(day.tally.of("ready")) if day.model[one] in ("WL1", "WH1")]
    people = wearers(day, "WL1")
    unit = free[0]
    while not day.issue(unit, people.pop(0), kept=True):
        pass
    day.do("+30m")
    day.matter("own-check", f"scan {day.tally.holder[unit]}", f"scan {unit}", "card own-check", "card good")
    day.refused("own check", f"scan {unit}", "press own-check")


def second_wave(day: Day, share: float) -> None:
    """Ten to noon: some come back, are made ready, and go out again."""
    day.at(10, 0)
    back = out_with(day, "WL1")[: max(8, round(18 * share))]
    _made_ready(day, back)
    people = wearers(day, "WL1")
    for unit in back[:-5]:  # the others stay for what else comes up
        while people and not day.issue(unit, people.pop(0)):
            pass


def _made_ready(day: Day, units: list[str]) -> None:
    """Units come back, and are cleaned and inspected for whoever is next; their packs are charged."""
    packs = [day.tally.pack_in[unit] for unit in units]
    day.take_back(units)
    day.refused("taken twice", "card returns", f"scan {units[0]}")
    for unit in units:
        day.complete(unit)
    day.charge(packs)
    day.do("+30m")
    day.clean(units)
    day.pre_stage(units)
    day.charged(packs)


def rest_of_the_crib(day: Day, crew: dict[str, str]) -> None:
    """Noon: what comes once a day or once a week."""
    day.at(11, 30)
    (day.shop.clerk_id,) = day.run("SELECT id FROM person WHERE label = ?", (crew["program"],)).fetchone()
    free = [one for one in sorted(day.tally.of("ready")) if day.model[one] == "WL1"]
    assert len(free) >= 5, free
    _meter(day)
    _held_and_released(day, free[0])
    _crushed(day, free[1], free[0])
    _swapped(day, free[0], free[2])
    _away(day, free[1], free[2])
    _cabinet(day, free[3])
    _called_in(day)
    _waste(day)


def _meter(day: Day) -> None:
    """The flow meter on the reference blower, which the office names first."""
    day.do("setting reference_lpm 190")
    day.tally.done["set-setting"] += 1
    day.matter("check-meter", f"scan {day.meter}", "press meter-check", "good", "reads 191")


def _bench(day: Day, unit: str) -> None:
    day.clear()
    day.matter("inspect", f"scan {unit}", "card bench", "pass")


def _held_and_released(day: Day, unit: str) -> None:
    """A hold by hand, its proof at the bench, its release."""
    day.matter("hold", f"scan {unit}", "card hold", "fill reason head", "card done", papers="tag")
    day.tally.state[unit] = "on hold"
    day.refused("release", f"scan {unit}", "card release")
    day.do("+2m")
    _bench(day, unit)
    day.matter("release", f"scan {unit}", "card release")
    day.tally.state[unit], day.tally.where[unit] = "ready", "rack"


def _crushed(day: Day, unit: str, other: str) -> None:
    """One is crushed; its blower still serves in another, which passes at the bench after that."""
    day.matter("hold", f"scan {unit}", "card crushed", papers="tag")
    day.refused("crushed", f"scan {unit}", "card crushed")
    (blower,) = day.run(
        "SELECT p.label FROM part p JOIN fitted f ON f.part_id = p.id AND f.removed_at IS NULL "
        "JOIN unit u ON u.id = f.unit_id WHERE u.label = ? AND f.position = 'blower'", (unit,),
    ).fetchone()  # fmt: skip
    day.matter("rob-part", f"scan {other}", "card rob-part", f"scan {blower}", "card done", papers="tag x 2")
    day.tally.state[unit], day.tally.where[unit] = "on hold", "bench"
    day.do("+1m")
    _bench(day, other)
    day.matter("release", f"scan {other}", "card release")


def _swapped(day: Day, unit: str, other: str) -> None:
    """Two head assemblies change places, and both units pass at the bench."""
    (head,) = day.run(
        "SELECT p.label FROM part p JOIN fitted f ON f.part_id = p.id AND f.removed_at IS NULL "
        "JOIN unit u ON u.id = f.unit_id WHERE u.label = ? AND f.position = 'head-assembly'", (other,),
    ).fetchone()  # fmt: skip
    day.matter("swap-parts", f"scan {unit}", "card swap-parts", f"scan {head}", "card done", papers="tag x 2")
    for one in (unit, other):
        day.do("+1m")
        _bench(day, one)
        day.matter("release", f"scan {one}", "card release")


def _away(day: Day, broken: str, good: str) -> None:
    """One goes for repair with its note, one is lent and arrives; the missing one turns up."""
    day.refused("lend", f"scan {broken}", "card lend")
    day.matter(
        "send-out", f"scan {broken}", "card send-out", "fill goes_to Feldner Repair", "fill cleaned_how wiped",
        "card done", papers="repair_note",
    )  # fmt: skip
    day.matter("lend", f"scan {good}", "card lend", "fill goes_to South crib", "card done")
    day.matter("arrived-there", f"scan {good}", "card arrived-there", "fill said their attendant", "card done")
    day.tally.where[broken] = day.tally.where[good] = "sent out"
    lost = next(unit for unit in day.missing if unit not in day.tally.holder)
    day.matter("found", f"scan {lost}", "card found")
    day.do("+1m")
    _bench(day, lost)
    day.tally.state[lost], day.tally.where[lost] = "ready", "rack"


def _cabinet(day: Day, unit: str) -> None:
    """A cabinet, a ready unit in it, its monthly inspection and its certification."""
    day.do("elsewhere cabinet gate-9")
    day.tally.done["add-cabinet"] += 1
    put = (f"scan {unit}", "scan gate-9", "fill seal 4711", "card done")
    day.matter("put-in-cabinet", *put)
    day.refused("in it already", *put)
    day.tally.where[unit] = "emergency cabinet"
    day.matter("inspect", f"scan {unit}", "card monthly", "pass")
    certified = (f"scan {unit}", "card certify", "fill seal 4712", "card done")
    day.matter("certify", *certified, papers="certification_tag")


def _called_in(day: Day) -> None:
    """Two lose their medical clearance while they are out; one gets it back and keeps the unit."""
    first, second = out_with(day, "WL1")[:2]
    for unit in (first, second):
        day.refused("call-in", f"scan {unit}", "card call-in")
        day.do(f"elsewhere unclear {day.tally.holder[unit]}")
        day.tally.done["add-clearance"] += 1
        day.matter("call-in", f"scan {unit}", "card call-in", papers="call_in_slip")
        day.tally.called_in.add(unit)
    day.do("+1m", f"elsewhere clear {day.tally.holder[first]}")
    day.tally.done["add-clearance"] += 1
    day.matter("end-call-in", f"scan {first}", "card end-call-in")
    day.tally.called_in.discard(first)


def _waste(day: Day) -> None:
    """A bag is opened, filled, and closed into its drum."""
    day.do("bag used filters, welding fume")
    day.tally.done["open-bag"] += 1
    for what, many in (("pre-filters", 4), ("particulate filters", 2), ("wipes", 9)):
        day.matter("bag-waste", "scan bag", f"fill what {what}", f"fill quantity {many}", "card done")
        day.tally.waste += many


def afternoon(day: Day, share: float) -> None:
    """Noon to half past two: what leaves the crib and comes back to it; then the rush."""
    day.at(12, 0)
    _hand_outs(day, out_with(day, "WL1"), round(235 * share))
    out = out_with(day, "WL1")
    for unit in [one for one in out if one in day.tally.called_in]:
        day.refused("swap, called in", f"scan {day.tally.pack_in[unit]}", f"scan {sorted(day.tally.charged)[0]}")
    _swaps(day, [one for one in out if one not in day.tally.called_in][: round(8 * share)])
    day.at(14, 0)
    back = sorted(day.today & set(day.tally.holder) - day.tally.assigned)
    for start in range(0, len(back), 8):
        day.take_back(back[start : start + 8])
    packs = []
    for number, unit in enumerate(back):
        pack = day.tally.pack_in.get(unit)
        lost = number == 3 and pack
        day.complete(unit, fault="head" if number == 5 and day.model[unit] == "WL1" else "", back=not lost)
        packs += [pack] if pack and not lost else []
    day.charge(packs[: round(30 * share)])
    day.do("+5m")
    day.charged(packs[: round(30 * share)])
    by_wash: dict[str, list[str]] = {}
    for unit in [one for one in back if day.tally.state[one] == "not checked"]:
        by_wash.setdefault(day.house.models[day.model[unit]].procedures["cleaning"], []).append(unit)
    for units in by_wash.values():
        day.clean(units)
        day.pre_stage(units)


def evening(day: Day, crew: dict[str, str]) -> None:
    """The shift is handed over."""
    day.at(14, 50)
    day.refused("close", "card close-shift", f"scan {crew['all-round']}")
    day.matter("close-shift", "card close-shift", f"scan {crew['attendant']}", "card done", papers="shift_page")
    day.tally.closed += 1
