"""Ten thousand short histories of sync, each from its seed: nothing promised is lost, all end alike.

A seed that fails is lived through again, told step by step, by
`python -m tests.simulators.sync_histories --histories 1 --tell --seed SEED`.
"""

import pytest

from tests.simulators import sync_histories
from tests.simulators.sync_histories import History
from tests.simulators.virtual_phone import Disk

HISTORIES = 10_000


def test_histories_end_with_one_log_and_nothing_lost() -> None:
    assert list(sync_histories.faults_on_all_cores(range(HISTORIES))) == []


def test_a_seed_gives_the_same_history_again() -> None:
    told: list[list[str]] = [[], []]
    ends = []
    for lines in told:
        history = History(7, lines.append)
        history.run()
        ends.append((history.now_s, history.server.entries()))
    assert told[0] == told[1] != []
    assert ends[0] == ends[1]


def test_what_is_to_happen_does_happen() -> None:
    lines: list[str] = []
    deaths = refusals = restores = 0
    for seed in range(40):
        history = History(seed, lines.append)
        history.run()
        deaths += history.server.deaths
        refusals += history.server.refusals
        restores += history.server.restores
    acts = {line.split(maxsplit=2)[2] for line in lines}
    assert {"note", "send", "set_up", "correct", "mend", "evict", "die", "jump", "hurt_server"} <= acts
    assert min(deaths, refusals, restores) > 0


def forgetful(disk: Disk) -> None:
    """Take every row for answered."""
    disk.mark.sent_upto = max(disk.rows, default=0)


def hasty(disk: Disk) -> None:
    """Take the log for seen a little further than it is."""
    disk.mark.cursor += 1


def hard(disk: Disk) -> None:
    """Let held entries go."""
    disk.held.clear()


@pytest.mark.parametrize("slip", [forgetful, hasty, hard])
def test_a_phone_that_slips_is_found_out(slip: object, monkeypatch: pytest.MonkeyPatch) -> None:
    settle = Disk.settle

    def slipping(self: Disk, rows: object, answer: object) -> None:
        settle(self, rows, answer)  # type: ignore[arg-type]
        slip(self)  # type: ignore[operator]

    monkeypatch.setattr(Disk, "settle", slipping)
    assert sync_histories.faults_of(range(20)) != []
