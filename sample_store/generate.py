"""Makes the sample store's journal: python sample_store/generate.py [--days N] [--end] FILE."""

from __future__ import annotations

import argparse
import sys
import tempfile
import time as stopwatch
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from chance import Chance  # noqa: E402
from clockwork import Clockwork  # noqa: E402
from hands import Hands, read_house  # noqa: E402
from nature import Nature  # noqa: E402
from office_year import joiners  # noqa: E402
from setting_up import set_up  # noqa: E402
from world import FIRST_DAY, LAST_CLOCK, LAST_DAY, World  # noqa: E402
from year import plan  # noqa: E402

from cribdesk.crib.entry import stamp  # noqa: E402
from cribdesk.desk.house import House  # noqa: E402
from cribdesk.desk.office import SetSetting  # noqa: E402
from cribdesk.store.connect import open_store  # noqa: E402
from cribdesk.store.transfer import write_journal  # noqa: E402

SEED = 20251124
BEST = 6
"""xz's preset of the committed file."""


def main(arguments: list[str] | None = None) -> int:
    """Runs the whole, tells figures."""
    parser = argparse.ArgumentParser(prog="generate.py", description="Make the sample store's journal.")
    parser.add_argument("file", type=Path, help="where the journal goes, .jsonl or .jsonl.xz")
    parser.add_argument("--days", type=int, help="only the first so many days; the same as the whole year's")
    parser.add_argument("--end", action="store_true", help="close a part too, so that it opens as a sample store")
    parser.add_argument("--seed", type=int, default=SEED, help="another history of the same crib")
    dealt = "also write the effects dealt to units and packs here, and digest.txt beside the journal"
    parser.add_argument("--truth", type=Path, help=dealt)
    asked = parser.parse_args(arguments)
    began = stopwatch.monotonic()
    with tempfile.TemporaryDirectory(prefix="sample-") as folder:
        address = str(Path(folder) / "sample.sqlite")
        entropy = Chance(asked.seed + 1)
        with open_store(address, create=True, entropy=entropy.bytes) as store:
            store.engine.run("PRAGMA synchronous=OFF")  # thrown away afterwards
            world = make(store, asked.seed, asked.days, asked.days is None or asked.end)
            head = write_journal(store, asked.file, preset=BEST)
    if asked.truth is not None:
        write_truth(world, asked.truth)
        (asked.file.parent / "digest.txt").write_text(f"{head.digest}\n", encoding="ascii")
    took = stopwatch.monotonic() - began
    print(f"{head.seq} entries, {asked.file.stat().st_size} bytes, {took:.0f} s, digest {head.digest}")
    print(f"{world.turned_away} turned away, {len(world.hands.refused)} refused")
    for words in world.hands.refused[:5]:
        print(f"  {words}")
    return 0


def make(store: object, seed: int, days: int | None, end: bool) -> World:
    """Lets the crib live for so many days, or the year."""
    house = read_house()
    clockwork = Clockwork(datetime.combine(FIRST_DAY, time(0), tzinfo=house.zone).astimezone(UTC))
    hands = Hands(store, house, clockwork, Chance(seed + 2))  # type: ignore[arg-type]
    chance = Chance(seed)
    world = World(hands, Nature(chance, dict(house.models), _steps(house)), chance, clockwork)
    joiners(world)
    plan(world, Chance(seed + 3))
    clockwork.start(set_up(world), world.local(FIRST_DAY, time(6, 0)))
    until = world.local(LAST_DAY, LAST_CLOCK)
    if days is not None:
        last = FIRST_DAY + timedelta(days=days)
        until = min(until, world.local(last, LAST_CLOCK if end else time(0)))
    clockwork.run(until)
    if end:
        boss = world.staff[0]
        hands.do("Office", boss.id, SetSetting, setting="sample_until", value=stamp(until))
    return world


def _steps(house: House) -> dict[str, frozenset[str]]:
    """Step codes by model, of the checks in which a mishap can be found."""
    found = {}
    for model in house.models.values():
        kinds = ("bench", "hand-over")
        made = [one for kind in kinds if (one := house.procedure_of(model, kind)) is not None]
        found[model.code] = frozenset(step.code for one in made for step in one.steps)
    return found


def write_truth(world: World, folder: Path) -> None:
    """What was dealt: each unit's and each pack's effect on the log run time, each blower's flow when new."""
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "units.csv").open("w", encoding="utf-8", newline="\n") as file:
        file.write("unit,model,log_run_effect,blower_flow_lpm\n")
        for unit in world.nature.units.values():
            file.write(f"{unit.label},{unit.model.code},{unit.run_effect:.6f},{unit.base_flow:.2f}\n")
    with (folder / "batteries.csv").open("w", encoding="utf-8", newline="\n") as file:
        file.write("battery,model,log_run_effect\n")
        for id, effect in world.nature.batteries.items():
            label = world.battery_labels[id]
            file.write(f"{label},{world.battery_models[id]},{effect:.6f}\n")


if __name__ == "__main__":
    sys.exit(main())
