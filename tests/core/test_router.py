"""Where a bucket goes: within every limit, all of it, and as well as a general solver would."""

from collections.abc import Callable
from dataclasses import replace
from math import fsum, nan

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog  # type: ignore[import-untyped]

from fallowside.core import materials, sources
from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.core.materials import Material
from fallowside.core.router import Routing, Taker, route

Heap = list[tuple[Material, float]]
NEAR = 1e-7

by_name = st.sampled_from([one for one in materials.all() if one.name != "water"])
masses = st.floats(0.01, 12.0) | st.sampled_from([0.5, 1.0, 2.0])
heaps = st.lists(st.tuples(by_name, masses), max_size=3, unique_by=lambda part: part[0].name)


def windows(low: float, high: float) -> st.SearchStrategy[tuple[float, float] | None]:
    ends = st.tuples(st.floats(low, high), st.floats(low, high)).map(lambda two: (min(two), max(two)))
    return st.none() | ends


takers = st.lists(
    st.builds(
        Taker,
        station=st.sampled_from(["north", "south", "yard"]),
        kind=st.sampled_from(["bed", "bin", "bin", "pond"]),
        ration_kg=st.sampled_from([0.0, 0.4]) | st.floats(0.0, 8.0),
        waiting=heaps.map(tuple),
        bedding=heaps.map(tuple),
        moisture_pct=windows(40.0, 95.0),
        carbon_to_nitrogen=windows(5.0, 60.0),
        today=heaps.map(tuple),
        day_kg=st.none() | st.floats(0.0, 9.0),
        strict=st.sampled_from([frozenset(), frozenset({"fish"}), frozenset({"fish", "fruit"})]),
    ),
    max_size=3,
)
buckets = st.lists(st.tuples(by_name, masses), min_size=1, max_size=5, unique_by=lambda part: part[0].name)
SHED: Heap = [
    (materials.get("cardboard"), 3.0),
    (materials.get("water"), 10.0),
    (materials.get("leaves"), 1.0),
]
BARE: Heap = []
at_hand = st.sampled_from([BARE, SHED])


BED, BIN = Taker("bed", "bed", 2.0, side="a"), Taker("bin", "bin", 5.0)


def test_a_bucket_is_routed_by_ration_and_liking() -> None:
    found = route([("cooked_mixed", 1.0), ("vegetable_scraps", 3.0)], [BED, BIN])
    assert [(one.material, one.kg, one.station, one.reason) for one in found.shares] == [
        ("cooked_mixed", 1.0, "bin", "router.best"),
        ("vegetable_scraps", 2.0, "bed", "router.best"),
        ("vegetable_scraps", 1.0, "bin", "router.next"),
    ]
    assert found.shares[2].values == {"station": "bed", "side": "a", "limit": "router.full"}


def test_fish_goes_to_the_bin_up_to_its_share_and_the_rest_is_kept_until_more_comes() -> None:
    """At most 15 % of the feed: larvae grown on fish alone nearly all die (Lopes and others 2020)."""
    found = route(
        [("fish_heads", 1.0), ("fish_guts", 1.0), ("mixed_scraps", 3.4)],
        [Taker("bin", "bin", 4.0)],
        keep_kg=10.0,
    )
    placed = {one.material: one.kg for one in found.shares if one.where == "station"}
    kept = [one for one in found.shares if one.where == "keep"]
    assert placed["mixed_scraps"] == pytest.approx(3.4)
    assert fsum(kg for name, kg in placed.items() if name != "mixed_scraps") == pytest.approx(0.6)
    assert fsum(one.kg for one in kept) == pytest.approx(1.4)
    assert {one.reason for one in kept} <= {"router.share", "router.full"}
    assert {one.days for one in kept} == {None}


def test_what_waits_counts_towards_a_share() -> None:
    waiting = [("mixed_scraps", 3.0), ("fish_scraps", 0.3)]
    found = route([("fish_guts", 1.0)], [Taker("bin", "bin", 4.0, waiting=waiting)])
    placed = fsum(one.kg for one in found.shares if one.where == "station")
    assert placed + 0.3 == pytest.approx(0.15 * (3.3 + placed))


def test_kept_scraps_say_in_how_many_days_they_will_have_gone_in() -> None:
    found = route([("vegetable_scraps", 7.0)], [BED], keep_kg=10.0)
    assert [(one.where, one.kg, one.days) for one in found.shares] == [
        ("station", 2.0, None),
        ("keep", 5.0, 3),
    ]


def test_what_no_station_takes_goes_elsewhere_and_is_not_frozen() -> None:
    [share] = route([("fish_heads", 1.0)], [BED], keep_kg=10.0).shares
    assert (share.where, share.kg, share.reason) == ("elsewhere", 1.0, "router.unsuitable")


def test_a_full_freezer_sends_the_rest_elsewhere() -> None:
    found = route([("vegetable_scraps", 7.0)], [BED], keep_kg=1.0)
    assert [(one.where, one.kg) for one in found.shares] == [
        ("station", 2.0),
        ("keep", 1.0),
        ("elsewhere", 4.0),
    ]
    assert found.shares[2].reason == "router.full"


def test_cardboard_goes_in_with_wet_scraps_to_keep_the_mix_within_its_window() -> None:
    """Arithmetic: 3 kg at 87 % and c kg at 8 % make 80 %, so c = 3 · (87 - 80)/(80 - 8) kg."""
    bed = Taker("bed", "bed", 3.0, moisture_pct=(60.0, 80.0))
    found = route([("vegetable_scraps", 3.0)], [bed], at_hand=[("cardboard", 5.0)])
    [share], [card] = found.shares, found.together
    assert (share.kg, share.station) == (3.0, "bed")
    assert (card.material, card.station) == ("cardboard", "bed")
    assert card.kg == pytest.approx(3.0 * 7.0 / 72.0)


def test_without_cardboard_wet_scraps_wait_and_say_why() -> None:
    bed = Taker("bed", "bed", 3.0, moisture_pct=(60.0, 80.0))
    [share] = route([("vegetable_scraps", 3.0)], [bed], keep_kg=5.0).shares
    assert (share.where, share.reason, share.values["station"]) == ("keep", "router.wet", "bed")


def test_a_bed_too_wet_already_still_takes_what_dries_it() -> None:
    bed = Taker("bed", "bed", 3.0, bedding=[("vegetable_scraps", 9.0)], moisture_pct=(60.0, 80.0))
    found = route([("vegetable_scraps", 1.0), ("leaves", 1.0)], [bed])
    placed = {one.material: one.kg for one in found.shares if one.where == "station"}
    assert placed["leaves"] == pytest.approx(1.0)


def test_a_share_is_one_of_the_days_ration_where_that_is_known() -> None:
    """Arithmetic: citrus may be a tenth of 4 kg; 0.1 kg of it lies there since this morning."""
    bed = Taker("bed", "bed", 3.0, today=[("citrus_peel", 0.1), ("tea_leaves", 0.9)], day_kg=4.0)
    found = route([("citrus_peel", 1.0)], [bed], keep_kg=5.0)
    assert [(one.where, one.reason) for one in found.shares] == [
        ("station", "router.best"),
        ("keep", "router.day_share"),
    ]
    assert found.shares[0].kg == pytest.approx(0.3)


def test_fish_alone_goes_nowhere_however_much_else_was_fed_before() -> None:
    """Larvae on fish alone nearly all die: Nguyen and others 2013."""
    fed = [("mixed_scraps", 9.0)]
    grubs = Taker("bin", "bin", 4.0, waiting=fed, day_kg=4.0, strict=frozenset({"fish"}))
    [share] = route([("fish_guts", 0.1)], [grubs], keep_kg=5.0).shares
    assert (share.where, share.reason, share.days) == ("keep", "router.share", None)
    mixed = route([("fish_guts", 0.1), ("mixed_scraps", 1.0)], [grubs], keep_kg=5.0)
    assert {one.where for one in mixed.shares} == {"station"}


def test_kept_scraps_go_in_by_whole_days_rations_not_by_what_is_left_of_todays() -> None:
    bed = Taker("bed", "bed", 0.0, today=[("vegetable_scraps", 2.0)], day_kg=2.0)
    [share] = route([("vegetable_scraps", 3.0)], [bed], keep_kg=10.0).shares
    assert (share.where, share.days) == ("keep", 2)


def test_the_same_material_named_twice_is_one() -> None:
    twice = route([("bread", 1.0), ("tea_leaves", 0.0), ("bread", 2.0)], [BIN])
    assert twice == route([("bread", 3.0)], [BIN])


def test_nothing_goes_nowhere() -> None:
    assert route([], [BED]) == Routing((), (), 0.0)
    [share] = route([("bread", 1.0)], []).shares
    assert (share.where, share.reason) == ("elsewhere", "router.unsuitable")


@pytest.mark.parametrize(
    "call",
    [
        lambda: route([("bread", -1.0)], [BED]),
        lambda: route([("bread", nan)], [BED]),
        lambda: route([("bread", 1.0)], [Taker("bed", "bed", -0.1)]),
        lambda: route([("bread", 1.0)], [Taker("bed", "bed", 1.0, moisture_pct=(80.0, 60.0))]),
        lambda: route([("bread", 1.0)], [BED], keep_kg=-1.0),
    ],
)
def test_masses_and_windows_that_mean_nothing_are_refused(call: Callable[[], Routing]) -> None:
    with pytest.raises(OutOfRange):
        call()


def test_an_unknown_feedstock_is_refused() -> None:
    with pytest.raises(UnknownName):
        route([("gravel", 1.0)], [BED])


# -- properties ----------------------------------------------------------------------------------


def put_into(found: Routing, chosen: list[Taker]) -> list[tuple[Heap, Heap]]:
    """Give, by taker, the scraps and the bedding it gets; takers that share a name stand for one another."""
    heaps = []
    for taker in chosen:
        scraps = [
            (materials.get(one.material), one.kg)
            for one in found.shares
            if (one.station, one.side) == (taker.station, taker.side)
        ]
        more = [
            (materials.get(one.material), one.kg)
            for one in found.together
            if (one.station, one.side) == (taker.station, taker.side)
        ]
        heaps.append((scraps, more))
    return heaps


def unlike(chosen: list[Taker]) -> list[Taker]:
    """Tell takers apart by their side."""
    return [replace(one, side=str(i)) for i, one in enumerate(chosen)]


@settings(deadline=None)
@given(buckets, takers, at_hand, st.floats(0.0, 20.0))
def test_every_limit_is_kept_and_all_of_the_bucket_accounted_for(
    bucket: Heap, chosen: list[Taker], extras: Heap, keep_kg: float
) -> None:
    chosen = unlike(chosen)
    found = route(bucket, chosen, at_hand=extras, keep_kg=keep_kg)
    for material, kg in bucket:
        parts = [one.kg for one in found.shares if one.material == material.name]
        assert min(parts) > 0.0
        assert fsum(parts) == pytest.approx(kg, rel=1e-9)
    assert fsum(one.kg for one in found.shares if one.where == "keep") <= keep_kg + NEAR
    for material, kg in extras:
        assert fsum(one.kg for one in found.together if one.material == material.name) <= kg + NEAR
    for taker, (scraps, more) in zip(chosen, put_into(found, chosen), strict=True):
        fed_kg = fsum(kg for _, kg in scraps)
        assert fed_kg <= taker.ration_kg + NEAR
        assert all(taker.kind in material.takes for material, _ in scraps)
        for most, worth in limits_of(taker, bucket, extras):
            fed = fsum(kg * worth(material, True) for material, kg in scraps)
            assert fed + fsum(kg * worth(material, False) for material, kg in more) <= most + NEAR


Worth = Callable[[Material, bool], float]


def limits_of(taker: Taker, bucket: Heap, extras: Heap) -> list[tuple[float, Worth]]:
    """Write a taker's shares and windows down afresh: (most, worth), with sum of kg · worth <= most."""
    waiting = list(taker.waiting)
    lying = waiting + list(taker.bedding)
    limits: list[tuple[float, Worth]] = []

    def share_limit(names: set[str], group: str, share: float, strict: str) -> None:
        if share == 1.0:  # taken freely: bedding may even be more than the feed
            return

        def counted(one: Material) -> float:
            return float(one.name in names or one.group == group != "")

        def worth(one: Material, scrap: bool) -> float:
            return counted(one) - (share if scrap else 0.0)

        if taker.day_kg is not None:
            fed = fsum(kg * counted(one) for one, kg in taker.today)  # type: ignore[arg-type]
            limits.append((max(0.0, share * taker.day_kg - fed), lambda one, _: counted(one)))
            if strict not in taker.strict:
                return
        for heap in [waiting] if taker.day_kg is None else [waiting, list(taker.today)]:
            there = fsum(kg * worth(one, True) for one, kg in heap)  # type: ignore[arg-type]
            limits.append((max(0.0, -there), worth))

    here = {one.name: one for one, _ in [*bucket, *extras] if taker.kind in one.takes}
    for name, one in here.items():
        share_limit({name}, "", one.takes[taker.kind], one.group)
    for group in {one.group for one in here.values()} - {""}:
        share = max(o.takes[taker.kind] for o in here.values() if o.group == group)
        share_limit(set(), group, share, group)

    def window(worth: Worth) -> None:
        there = fsum(kg * worth(one, True) for one, kg in lying)  # type: ignore[arg-type]
        limits.append((max(0.0, -there), worth))

    if taker.moisture_pct:
        low, high = taker.moisture_pct
        window(lambda one, _: (one.moisture_pct - high) / 100.0)
        window(lambda one, _: (low - one.moisture_pct) / 100.0)
    if taker.carbon_to_nitrogen:
        low_ratio, high_ratio = taker.carbon_to_nitrogen
        window(lambda one, _: carbon(one) - high_ratio * nitrogen(one))
        window(lambda one, _: low_ratio * nitrogen(one) - carbon(one))
    return limits


def carbon(one: Material) -> float:
    return (1.0 - one.moisture_pct / 100.0) * one.carbon_pct_dry / 100.0


def nitrogen(one: Material) -> float:
    return (1.0 - one.moisture_pct / 100.0) * one.nitrogen_pct_dry / 100.0


def cheapest(bucket: Heap, chosen: list[Taker], extras: Heap, keep_kg: float) -> float:
    """Solve the same task with SciPy, written down afresh, `elsewhere` as unknowns of their own."""
    price = {name: sources.value(f"mix.price_{name}") for name in ("elsewhere", "keep", "liking", "order")}
    unknowns: list[tuple[str, Material, int]] = []
    costs: list[float] = []
    for one, _ in bucket:
        suited = [t for t, taker in enumerate(chosen) if taker.kind in one.takes]
        for t in suited:
            unknowns.append(("scrap", one, t))
            costs.append(price["liking"] * (1.0 - one.takes[chosen[t].kind]) + price["order"] * t)
        if suited:
            unknowns.append(("keep", one, -1))
            spoils = one.group in ("fish", "meat", "dairy")
            costs.append(price["keep"] + (sources.value("mix.price_keep_fresh") if spoils else 0.0))
        unknowns.append(("elsewhere", one, -1))
        costs.append(price["elsewhere"])
    for one, _ in extras:
        for t, taker in enumerate(chosen):
            if taker.kind in one.takes or one.name == "water":
                unknowns.append(("extra", one, t))
                costs.append(sources.value("mix.price_addition"))
    rows, mosts = [[float(what == "keep") for what, _, _ in unknowns]], [keep_kg]
    for one, kg in extras:
        rows.append([float(what == "extra" and material == one) for what, material, _ in unknowns])
        mosts.append(kg)
    for t, taker in enumerate(chosen):
        rows.append([float(what == "scrap" and at == t) for what, _, at in unknowns])
        mosts.append(taker.ration_kg)
        for most, worth in limits_of(taker, bucket, extras):
            rows.append([worth(one, what == "scrap") if at == t else 0.0 for what, one, at in unknowns])
            mosts.append(most)
    whole = [
        [float(what != "extra" and material == one) for what, material, _ in unknowns] for one, _ in bucket
    ]
    found = linprog(
        costs,
        A_ub=rows,
        b_ub=mosts,
        A_eq=whole,
        b_eq=[kg for _, kg in bucket],
        method="highs",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    return float(found.fun)


@settings(deadline=None)
@given(buckets, takers, at_hand, st.floats(0.0, 20.0))
@example([(materials.get("fish_heads"), 2.0), (materials.get("bread"), 1.0)], [BED, BIN], [], 1.0)
def test_the_price_is_scipys(bucket: Heap, chosen: list[Taker], extras: Heap, keep_kg: float) -> None:
    wanted = cheapest(bucket, chosen, extras, keep_kg)
    found = route(bucket, chosen, at_hand=extras, keep_kg=keep_kg).price
    assert found == pytest.approx(wanted, rel=1e-9, abs=1e-9)
