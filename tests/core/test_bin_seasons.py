"""The larvae bin through the year: what follows feed and air, and what is set aside before the cold."""

from tests.core.test_larvaebin import Raw, amount, celsius, codes, counts, note, plan, warm


def test_the_season_follows_feed_and_air() -> None:
    for at_c, air_c, season in ((28, 28, "growing"), (28, 10, "no_eggs"), (10, 5, "still"), (38, 30, "hot")):
        readings = [
            note("reading", day, 7, temperature=celsius(at_c), air_temperature=celsius(air_c))
            for day in range(20)
        ]
        assert plan(readings, 19)["state"]["season"] == season


def test_without_eggs_for_a_larval_time_little_is_ahead() -> None:
    def logged(air_c: float) -> list[Raw]:
        return [
            *warm(95),
            *counts(25, 70),
            *(note("reading", day, 8, air_temperature=celsius(28.0)) for day in range(70)),
            *(note("reading", day, 8, air_temperature=celsius(air_c)) for day in range(70, 95)),
        ]

    assert amount(plan(logged(8.0), 94))["value"] < 0.5 * amount(plan(logged(28.0), 94))["value"]


def test_before_the_cold_it_says_to_hold_grown_larvae_over() -> None:
    normals = [30, 30, 30, 30, 2, 2, 2, 2, 2, 30, 30, 30]
    made = plan(warm(56, 26.0), 55, air_by_month_c=normals)
    assert "season_ends" in codes(made)
    assert "hold_prepupae" in [job["what"] for job in made["jobs"]]


def test_larvae_noted_as_kept_for_spring_are_asked_for_no_more() -> None:
    normals = [30, 30, 30, 30, 2, 2, 2, 2, 2, 30, 30, 30]

    def asked(*more: Raw) -> bool:
        made = plan([*warm(56, 26.0), *counts(30, 50), *more], 55, air_by_month_c=normals)
        return "hold_prepupae" in [job["what"] for job in made["jobs"]]

    def put(what: str, to: str) -> Raw:
        return note("given", 54, what=what, to=to, count=200)

    assert asked()
    assert asked(put("larvae", "frozen"))
    assert asked(put("frass", "kept"))
    assert not asked(put("larvae", "kept"))
