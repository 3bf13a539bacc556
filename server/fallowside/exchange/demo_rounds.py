"""A round at the demo place: what is done at each station, and what the walker writes of it."""

from dataclasses import dataclass, field
from datetime import timedelta
from math import fsum

from fallowside.exchange import demo_place as place
from fallowside.exchange.demo_diary import Raw, Walk
from fallowside.exchange.demo_place import BIN, HIVE, HOST, POND, TROUGH
from fallowside.exchange.demo_truth import (
    OTHER,
    SIDE_AREA_M2,
    Bed,
    Dice,
    Hive,
    Larvae,
    Pond,
    Weather,
)

MATERIALS = {
    "scraps": "vegetable_scraps",
    "coffee": "coffee_grounds",
    "card": "cardboard",
    "bread": "bread",
    "cooked": "cooked_grain",
    "fish": "fish_heads",
    "guts": "fish_guts",
    "bones": "bones",
    "pellets": "fish_feed",
}
"""What the demo's kitchen calls things, and their names in the table of materials."""

SPECIES = ("carp", "carp", "tench")
SCOOP_L, SCOOPS = 0.25, 6
TOO_HOT_C = 28.0
SQUEEZE_DAYS = 8
COUNT_AFTER_DAYS = (7, 14, 21, 30, 40, 52)
_LB_KG = 0.45359237


@dataclass(slots=True)
class Kitchen:
    """What waits in the kitchen's pails. [kg]"""

    scraps: float = 1.0
    cooked: float = 0.5
    bread: float = 0.0
    coffee: float = 0.0
    fish: float = 0.0
    bones: float = 0.0
    """Picked clean in the bin, still lying there."""

    def serve(self, guests: int, dice: Dice) -> None:
        """Let a day of meals pass."""
        self.scraps = min(4.0, self.scraps + guests * dice.between(0.055, 0.105))
        self.cooked = min(2.5, self.cooked + guests * dice.between(0.012, 0.034))
        self.bread = min(1.2, self.bread + guests * dice.between(0.0, 0.016))
        self.coffee = min(0.8, self.coffee + guests * 0.008)


@dataclass(slots=True)
class Holding:
    """The state of everything, and when things were last done (days before today)."""

    bed: Bed = field(default_factory=Bed)
    larvae: Larvae = field(default_factory=Larvae)
    pond: Pond = field(default_factory=Pond)
    hive: Hive = field(default_factory=Hive)
    held: Raw | None = None
    """Fish in the tub since yesterday, as they were noted."""
    kitchen: Kitchen = field(default_factory=Kitchen)
    switched: int = 0
    counted: int = 0
    rested_done: bool = True
    castings_kg: float = 0.0
    last: dict[str, int] = field(default_factory=dict)

    def due(self, what: str, ago: int, every: int) -> bool:
        """Say whether something was last done (or first asked for) `every` days ago, and call it done."""
        if self.last.setdefault(what, ago) - ago < every:
            return False
        self.last[what] = ago
        return True

    def once(self, what: str, ago: int) -> bool:
        """Say yes the first time something is asked for."""
        return self.last.setdefault(what, ago) == ago


# -- amounts as people write them ----------------------------------------------------------------


def weighed(kg: float, walk: Walk) -> Raw:
    """Write a mass as read off the walker's own scale."""
    if walk.scale == "lb":
        return {"value": max(0.1, round(kg / _LB_KG, 1)), "unit": "lb"}
    if kg < 0.5:
        return {"value": max(10, 10 * round(100.0 * kg)), "unit": "g"}
    return {"value": round(20.0 * kg) / 20.0, "unit": "kg"}


def amount(kg: float, walk: Walk) -> Raw:
    """Write an amount of scraps: weighed, or by the pail once the pail has been weighed."""
    quarters = round(4.0 * kg / place.PAIL_KG)
    by_pail = walk.ago < place.PAIL_WEIGHED_AGO and quarters >= 1 and walk.dice.chance(0.3)
    if by_pail and abs(quarters * place.PAIL_KG / 4.0 - kg) < 0.25:
        return {"container": place.PAIL, "filled": quarters / 4.0}
    return weighed(kg, walk)


def degrees(celsius: float, walk: Walk) -> Raw:
    """Write a temperature as read off the walker's thermometer."""
    read = celsius + 0.3 * walk.dice.normal()
    if walk.thermometer == "degF":
        return {"value": round(1.8 * read + 32.0), "unit": "degF"}
    return {"value": round(2.0 * read) / 2.0, "unit": "degC"}


def squeeze(wet_pct: float) -> str:
    """Say what a squeezed handful does."""
    for below, word in ((60.0, "crumbles"), (70.0, "holds"), (80.0, "drips"), (88.0, "trickles")):
        if wet_pct < below:
            return word
    return "runs"


# -- the bed -------------------------------------------------------------------------------------


def at_trough(walk: Walk, now: Holding, day: Weather, *, sour: bool, glut: bool) -> None:
    """Look after the bed: read, count, take castings, feed; leave it in peace while it is sour."""
    walk.passed.append(TROUGH)
    _read_bed(walk, now, day)
    if sour:
        _rest_sour(walk, now)
        return
    hot = day.heat and now.bed.temperature_c > TOO_HOT_C
    if hot and now.due("heat", walk.ago, 2):
        note = "Wet sacks and a sail for shade."
        walk.note("signs", TROUGH, side=now.bed.feeding, signs=["worms_leaving"], note=note)
    elif now.due("well", walk.ago, 9):
        walk.note("signs", TROUGH, side=now.bed.feeding, signs=["all_well"])
    _count(walk, now)
    _castings(walk, now)
    _water(walk, now, day)
    if not hot:
        _feed_bed(walk, now, glut=glut)


def _read_bed(walk: Walk, now: Holding, day: Weather) -> None:
    bed, ago, side = now.bed, walk.ago, now.bed.feeding
    if day.heat or walk.dice.chance(0.5):
        walk.note("reading", TROUGH, side=side, temperature=degrees(bed.temperature_c, walk))
    if now.due("squeeze", ago, 6):
        walk.note("reading", TROUGH, side=side, squeeze=squeeze(bed.sides[side].wet_pct))
    if now.due("squeeze resting", ago, 13):
        walk.note("reading", TROUGH, side=OTHER[side], squeeze=squeeze(bed.sides[OTHER[side]].wet_pct))
    if now.due("trough ph", ago, 41):
        walk.note("reading", TROUGH, side=side, ph=round(6.6 + 0.15 * walk.dice.normal(), 1))


def _rest_sour(walk: Walk, now: Holding) -> None:
    if not now.due("sour", walk.ago, 3):
        return
    side = now.bed.feeding
    note = "Far too much at once after the big party. Nothing goes in for a week."
    walk.note("signs", TROUGH, side=side, signs=["sour_smell", "fruit_flies"], note=note)
    walk.note("leftover", TROUGH, side=side, left="most")
    walk.note("feed", TROUGH, side=side, feedstock=MATERIALS["card"], amount=weighed(0.3, walk))
    now.bed.feed(side, "card", 0.3)


def _water(walk: Walk, now: Holding, day: Weather) -> None:
    bed = now.bed
    for side, driest in ((bed.feeding, 67.0), (OTHER[bed.feeding], 62.0)):
        if bed.sides[side].wet_pct < driest:
            litres = 5 if day.heat else 3
            walk.note("water", TROUGH, side=side, amount={"value": litres, "unit": "L"})
            bed.water(side, litres)


def turn(walk: Walk, now: Holding) -> None:
    """Lay bedding on the other side and feed there from now on."""
    bed = now.bed
    side = OTHER[bed.feeding]
    walk.note("feed", TROUGH, side=side, feedstock=MATERIALS["card"], amount=weighed(0.8, walk))
    walk.note("water", TROUGH, side=side, amount={"value": 6, "unit": "L"})
    bed.feed(side, "card", 0.8)
    bed.sides[side].wet_pct = 74.0
    walk.note("switch", TROUGH, side=side)
    bed.switch(side)
    now.switched, now.counted, now.rested_done = walk.ago, 0, False


def _count(walk: Walk, now: Holding) -> None:
    if now.rested_done or now.counted >= len(COUNT_AFTER_DAYS):
        return
    if now.switched - walk.ago < COUNT_AFTER_DAYS[now.counted]:
        return
    now.counted += 1
    for side, half in sorted(now.bed.sides.items()):
        per_scoop = SCOOP_L * half.worms_kg / 0.00055 / (half.litres / 0.8)
        walk.note(
            "side_count",
            TROUGH,
            side=side,
            counts=[walk.dice.count(per_scoop, clump=0.3) for _ in range(SCOOPS)],
            scoop={"value": SCOOP_L, "unit": "L"},
        )


def _castings(walk: Walk, now: Holding) -> None:
    bed, rested = now.bed, OTHER[now.bed.feeding]
    if now.rested_done:
        if now.castings_kg > 0.0 and now.due("castings out", walk.ago, 9):
            taken = min(now.castings_kg, walk.dice.between(6.0, 12.0))
            walk.note("given", TROUGH, what="castings", amount=weighed(taken, walk), to="garden")
            now.castings_kg -= taken
        return
    half, days = bed.sides[rested], now.switched - walk.ago
    moved = 1.0 - half.worms_kg / max(0.001, fsum(one.worms_kg for one in bed.sides.values()))
    ready = moved > 0.85 and half.raw_share < 0.2
    if days < 45 or not (ready or days > 62):
        return
    taken_kg = bed.take(rested)
    method = "after_migration" if ready else "top_layers"
    note = "" if ready else "Scraped in layers by daylight; the stragglers went over to the other side."
    while taken_kg > 0.3:
        load = min(taken_kg, walk.dice.between(7.0, 10.0))
        walk.note("castings", TROUGH, side=rested, amount=weighed(load, walk), method=method, note=note)
        taken_kg -= load
        now.castings_kg += load
        note = ""
    now.rested_done = True
    now.last["castings out"] = walk.ago


def _feed_bed(walk: Walk, now: Holding, *, glut: bool) -> None:
    bed, kitchen, side = now.bed, now.kitchen, now.bed.feeding
    half, ago = bed.sides[side], walk.ago
    hungry = bed.appetite_kg() * (now.last.get("fed", ago + 1) - ago)
    backlog = half.scraps_kg / SIDE_AREA_M2
    if now.due("leftover", ago, 6):
        seen = half.left + 0.08 * walk.dice.normal()
        left = "none" if seen < 0.25 else "some" if seen < 0.75 else "most"
        walk.note("leftover", TROUGH, side=side, left=left)
    if backlog > 5.5 and not glut:
        return
    portion = kitchen.scraps if glut else min(kitchen.scraps, min(3.0, hungry) * walk.dice.between(0.8, 1.1))
    if portion < 0.2:
        return
    now.last["fed"] = ago
    walk.note("feed", TROUGH, side=side, feedstock=MATERIALS["scraps"], amount=amount(portion, walk))
    bed.feed(side, "scraps", portion)
    kitchen.scraps -= portion
    if kitchen.coffee > 0.3 and not glut:
        grounds = weighed(kitchen.coffee, walk)
        walk.note("feed", TROUGH, side=side, feedstock=MATERIALS["coffee"], amount=grounds)
        bed.feed(side, "coffee", kitchen.coffee)
        kitchen.coffee = 0.0
    if half.wet_pct > 77.0 or walk.dice.chance(0.3):
        card = max(0.05, 0.08 * portion)
        walk.note("feed", TROUGH, side=side, feedstock=MATERIALS["card"], amount=weighed(card, walk))
        bed.feed(side, "card", card)


# -- the larvae bin ------------------------------------------------------------------------------


def at_bin(walk: Walk, now: Holding, day: Weather, *, soup: bool) -> None:
    """Look after the larvae bin: empty the catch pail, read, clear out, feed."""
    walk.passed.append(BIN)
    _climbed(walk, now)
    _read_bin(walk, now, day)
    _clear_bin(walk, now)
    _feed_bin(walk, now)
    if soup:
        walk.note("water", BIN, amount={"value": 4, "unit": "L"}, note="Somebody tipped the soup pot in.")
        now.larvae.wet_pct = 86.0
        now.last["bin squeeze"] = walk.ago + SQUEEZE_DAYS


def _read_bin(walk: Walk, now: Holding, day: Weather) -> None:
    if walk.dice.chance(0.55):
        walk.note("reading", BIN, temperature=degrees(now.larvae.temperature_c, walk))
    if now.due("bin squeeze", walk.ago, SQUEEZE_DAYS):
        walk.note("reading", BIN, squeeze=squeeze(now.larvae.wet_pct))
    if day.heat and now.due("bin heat", walk.ago, 3):
        walk.note("signs", BIN, signs=["pale_larvae_leaving"], note="Pale ones on the wall. Lid off.")
    if day.high_c > 25.0 and now.due("eggs", walk.ago, 8):
        walk.note("eggs", BIN, clutches=walk.dice.whole(1, 7))


def _clear_bin(walk: Walk, now: Holding) -> None:
    larvae, kitchen, ago = now.larvae, now.kitchen, walk.ago
    if now.due("clear out", ago, 37):
        taken = 0.6 * larvae.residue_kg
        to = walk.dice.pick(("curing", "curing", "bed", "garden"))
        walk.note("clear_out", BIN, amount=weighed(taken, walk), to=to)
        larvae.residue_kg -= taken
        now.last["frass"] = ago
    if now.last.get("frass", ago) - ago > 21:
        cured = weighed(walk.dice.between(1.5, 4.0), walk)
        walk.note("given", BIN, what="frass", amount=cured, to="garden")
        del now.last["frass"]
    if kitchen.bones > 0.0 and now.due("bones", ago, 6):
        walk.note(
            "reject",
            BIN,
            feedstock=MATERIALS["bones"],
            amount=weighed(kitchen.bones, walk),
            to="landfill" if walk.dice.chance(0.4) else "burial",
            note="Picked clean.",
        )
        kitchen.bones = 0.0


def _climbed(walk: Walk, now: Holding) -> None:
    larvae = now.larvae
    seen = walk.dice.count(larvae.climbed, clump=0.12)
    larvae.climbed = 0.0
    if seen == 0 and walk.dice.chance(0.6):
        return
    kg = seen * larvae.grams / 1000.0
    fifty = now.due("fifty", walk.ago, 20) and seen > 60
    found: Raw = {}
    if seen < 150 or walk.dice.chance(0.55):
        found["count"] = seen
    else:
        found["amount"] = {"value": max(5, 5 * round(200.0 * kg)), "unit": "g"}
    if fifty:
        sample = 50.0 * larvae.grams * (1.0 + 0.03 * walk.dice.normal())
        found["fifty_mass"] = {"value": round(sample, 1), "unit": "g"}
    walk.note("self_harvest", BIN, **found)
    if kg > 0.03 and walk.dice.chance(0.8):
        share = walk.dice.between(0.6, 1.0)
        walk.note(
            "given",
            BIN,
            what="larvae",
            amount={"value": max(5, 5 * round(200.0 * kg * share)), "unit": "g"},
            to="pond" if walk.dice.chance(0.75) else "frozen",
        )


def _feed_bin(walk: Walk, now: Holding) -> None:
    larvae, kitchen = now.larvae, now.kitchen
    if larvae.temperature_c < 14.0:
        return
    if walk.dice.chance(0.2):
        fresh = larvae.fed_kg > 2.2
        walk.note("leftover", BIN, left="some" if fresh else "none")
    if kitchen.fish > 0.0:
        bread = min(1.2, max(kitchen.bread, 2.0 * kitchen.fish))
        walk.note("feed", BIN, feedstock=MATERIALS["bread"], amount=weighed(bread, walk))
        walk.note("feed", BIN, feedstock=MATERIALS["fish"], amount=weighed(kitchen.fish, walk))
        larvae.feed(bread, dry=True)
        larvae.feed(kitchen.fish)
        kitchen.bones += 0.35 * kitchen.fish
        kitchen.bread, kitchen.fish = 0.0, 0.0
        now.last["bones"] = walk.ago
    hungry = larvae.appetite_kg() * (now.last.get("bin fed", walk.ago + 1) - walk.ago)
    if hungry < 0.4:
        return
    now.last["bin fed"] = walk.ago
    if kitchen.cooked > 0.3:
        porridge = walk.dice.chance(0.3)
        portion = min(kitchen.cooked, hungry)
        hungry -= portion
        what = place.PORRIDGE if porridge else MATERIALS["cooked"]
        crock = {"container": place.CROCK, "filled": max(0.25, round(portion / 0.75) / 4.0)}
        given = crock if porridge else weighed(portion, walk)
        walk.note("feed", BIN, feedstock=what, amount=given)
        larvae.feed(portion)
        kitchen.cooked -= portion
    if kitchen.scraps > 1.0 and hungry > 0.3:
        portion = min(kitchen.scraps - 0.3, hungry)
        walk.note("feed", BIN, feedstock=MATERIALS["scraps"], amount=amount(portion, walk))
        larvae.feed(portion)
        kitchen.scraps -= portion
    if kitchen.bread > 0.25:
        walk.note("feed", BIN, feedstock=MATERIALS["bread"], amount=weighed(kitchen.bread, walk))
        larvae.feed(kitchen.bread, dry=True)
        kitchen.bread = 0.0
    if larvae.wet_pct > 79.0:
        walk.note("feed", BIN, feedstock=MATERIALS["card"], amount=weighed(0.15, walk))
        larvae.wet_pct -= 5.0


# -- pond and hive -------------------------------------------------------------------------------


def at_pond(walk: Walk, now: Holding, day: Weather) -> None:
    """Look after the pond: read, feed, catch, draw solids for the bed."""
    walk.passed.append(POND)
    pond, ago = now.pond, walk.ago
    if day.heat or walk.dice.chance(0.35):
        read: Raw = {"temperature": degrees(pond.temperature_c, walk)}
        if now.due("pond ph", ago, 10):
            read["ph"] = round(pond.ph, 1)
        if now.due("pond depth", ago, 12):
            read["depth"] = {"value": round(100.0 * pond.depth_m), "unit": "cm"}
        walk.note("reading", POND, **read)
    if day.heat and now.due("gasping", ago, 4):
        walk.note("signs", POND, signs=["fish_gasping"], note="Opened the spring pipe so that it splashes.")
    elif pond.temperature_c > 23.0 and now.due("green", ago, 31):
        walk.note("signs", POND, signs=["green_water"])
    if pond.temperature_c > 14.0 and not day.heat and walk.dice.chance(0.4):
        grams = 10 * round(walk.dice.between(4.0, 11.0))
        walk.note("feed", POND, feedstock=MATERIALS["pellets"], amount={"value": grams, "unit": "g"})
    if now.held is not None:
        # What was held yesterday is taken out of the tub today.
        taken = {"fate": "killed", "from": "holding", "method": "blow", "second_step": "bled"}
        walk.note("catch", POND, **now.held | taken)
        now.held = None
    if not day.heat and now.due("catch", ago, 11):
        _catch(walk, now)
    _now_and_then(walk, now, day)
    if not day.rain and now.due("solids", ago, 34):
        litres = walk.dice.whole(6, 10)
        walk.note("solids", POND, amount={"value": litres, "unit": "L"}, to=TROUGH)
        now.bed.feed(now.bed.feeding, "solids", float(litres))


def _catch(walk: Walk, now: Holding) -> None:
    number = walk.dice.whole(1, 4)
    species = walk.dice.pick(SPECIES)
    kg = fsum(walk.dice.between(0.28, 0.52) for _ in range(number))
    fate = walk.dice.pick(("killed", "killed", "killed", "killed", "held", "released"))
    caught: Raw = {"species": species, "number": number, "fate": fate}
    if fate != "released":
        caught["mass"] = weighed(kg, walk)
    if fate == "killed":
        caught |= {"gear": "net", "method": "blow", "second_step": "bled", "cut": "whole_gutted"}
        caught["scraps"] = {"value": round(0.11 * kg, 2), "unit": "kg"}
    walk.note("catch", POND, note="Held in the tub for tomorrow." if fate == "held" else "", **caught)
    if fate == "held":
        now.held = caught
    if fate == "killed":
        heads_kg = 0.28 * kg
        now.kitchen.fish += heads_kg
        walk.note("reject", POND, feedstock=MATERIALS["guts"], amount=weighed(0.11 * kg, walk), to="burial")


def _now_and_then(walk: Walk, now: Holding, day: Weather) -> None:
    """Do at the pond what is done every few weeks: young fish, a sample, a test, a plan, the smoker."""
    pond, ago = now.pond, walk.ago
    if now.once("young fish", ago):
        walk.note("stocking", POND, species="tench", number=45, mass={"value": 5.4, "unit": "kg"})
    if now.due("sample", ago, 45):
        grams = round(6 * (420.0 - 0.35 * min(ago, 500)))
        walk.note("fish_sample", POND, species="carp", number=6, mass={"value": grams, "unit": "g"})
    if now.due("water test", ago, 12):
        oxygen = round(13.2 - 0.24 * pond.temperature_c - (2.5 if day.heat else 0.0), 1)
        walk.note("water_test", POND, oxygen_mg_per_l=oxygen, ammonia_mg_per_l=0.25)
    if now.due("catch plan", ago, 40):
        on = (walk.diary.today - timedelta(days=ago - 2)).isoformat()
        walk.note("catch_plan", POND, day=on, species="carp", number=3, cut="headed_gutted")
    if now.due("question", ago, 55):
        asked = walk.note("question", POND, text="The pond smells of earth this morning. Is that the mud?")
        told = "Yes, after rain. Look for gasping fish just after dawn."
        walk.diary.write("answer", ago, 20.0 * 60.0, HOST, of=asked["id"], text=told)
    if now.due("smoker", ago, 50):
        hot: Raw = {"inside": {"value": 73, "unit": "degC"}, "minutes": 35}
        cold: Raw = {"kept_at": {"value": 3, "unit": "degC"}, "packing": "wrapped"}
        walk.note("preserve", POND, method="hot_smoke", mass={"value": 0.9, "unit": "kg"}, **hot, **cold)


def at_hive(walk: Walk, now: Holding, day: Weather, month: str) -> None:
    """Look at the hive from outside; now and then lift it, add a box or take honey."""
    walk.passed.append(HIVE)
    hive, ago = now.hive, walk.ago
    if now.due("hive look", ago, 9):
        word = "few_bees" if day.mean_c < 13.0 else "all_well"
        walk.note("signs", HIVE, signs=[word])
    if now.due("heft", ago, 24):
        if walk.dice.chance(0.5):
            walk.note("hive_check", HIVE, weight=weighed(hive.weight_kg, walk))
        else:
            heft = "light" if hive.weight_kg < 27.0 else "fair" if hive.weight_kg < 38.0 else "heavy"
            walk.note("hive_check", HIVE, hefting=heft)
    if month[5:] in ("04", "06") and now.once(f"box {month}", ago):
        walk.note("hive_box", HIVE, change="added", position="below", box=f"box-{ago % 7 + 3}")
        hive.weight_kg += 4.0
    if month[5:] in ("07", "09") and hive.weight_kg > 38.0 and now.once(f"honey {month}", ago):
        walk.note("hive_box", HIVE, change="taken", position="above")
        kg = min(16.0, hive.weight_kg - 30.0)
        walk.note(
            "hive_harvest",
            HIVE,
            amount=weighed(kg, walk),
            water_pct=round(walk.dice.between(16.4, 18.4), 1),
            note="Pressed comb, cold, strained once.",
        )
        hive.weight_kg -= kg + 4.0
