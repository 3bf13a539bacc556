"""A phone as `web/src/log` has it, in a few lines: rows, pages, held entries, one mark.

It follows `storage.ts`, `indexed.ts`, `exchange.ts` and `journal.ts` step by step, so that a rule of
theirs that loses something loses it here too. Only what reaches its disk outlives it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

Raw = dict[str, Any]

LOOSE = 12
"""From so many loose records on they are gathered into one page; the web app has a larger figure."""
SERVERS_FIELDS = ("seq", "received_at")
TAKEN = "id_taken"


@dataclass
class Mark:
    """How far the server has answered the rows, and how far the phone has seen the log, and which log."""

    sent_upto: int = 0
    cursor: int = 0
    log: str | None = None


@dataclass
class Disk:
    """All that a phone has stored."""

    rows: dict[int, Raw] = field(default_factory=dict)
    pages: list[list[Raw]] = field(default_factory=list)
    held: dict[str, Raw] = field(default_factory=dict)
    mark: Mark = field(default_factory=Mark)
    next_row: int = 1

    def save(self, entry: Raw) -> None:
        """Append an entry; it is unsent until the mark passes it."""
        self.rows[self.next_row] = entry
        self.next_row += 1

    def unsent(self, limit: int) -> list[tuple[int, Raw]]:
        """Give the first rows after the mark."""
        if self.next_row <= self.mark.sent_upto + 1:
            return []
        return [(n, entry) for n, entry in self.rows.items() if n > self.mark.sent_upto][:limit]

    def log(self) -> dict[str, Raw]:
        """Give the entries the server is known to have, by id: what the phone plans from."""
        held, upto = self.held, self.mark.sent_upto
        known = {one["id"]: one for n, one in self.rows.items() if n <= upto and one["id"] not in held}
        for page in self.pages:
            # Where an id is taken, the entry that has it is in the log all the same.
            known |= {
                one["id"]: one for one in page if one["id"] not in held or held[one["id"]]["code"] == TAKEN
            }
        return known

    def all_there_is(self) -> list[Raw]:
        """Give everything that is stored in any form."""
        return [
            *self.rows.values(),
            *(one for page in self.pages for one in page),
            *(one["entry"] for one in self.held.values()),
        ]

    def settle(self, rows: list[tuple[int, Raw]], answer: Mapping[str, Any]) -> None:
        """Write down what an answer changes, as one transaction."""
        before = self.mark
        sent = {entry["id"]: entry for _, entry in rows}
        held = {one["id"]: {**one, "entry": sent[one["id"]]} for one in answer["held"]}
        named = {*answer["accepted"], *held}
        upto = before.sent_upto
        for n, entry in rows:
            if entry["id"] not in named:
                break
            upto = n
        received = [
            {key: value for key, value in one.items() if key not in SERVERS_FIELDS}
            for one in answer["entries"]
        ]
        if before.log is not None and answer["log"] != before.log:
            self._send_again(upto, received, {*answer["accepted"], *held})
        self.mark = Mark(upto, answer["cursor"], answer["log"])
        if received:
            self.pages.append(received)
        self.held.update(held)
        others = {one["id"]: one for one in received}
        for name, one in list(self.held.items()):
            if name in answer["accepted"] or one["entry"] == others.get(name):
                del self.held[name]
            elif name in others:
                # Another entry has its id now: this one was not let in, and says something else.
                self.held[name] = {**one, "code": TAKEN}

    def _send_again(self, upto: int, received: list[Raw], answered: set[str]) -> None:
        """Append all that another log may lack; of an id that is held, what was held, unless it is mended."""
        sent = [entry for n, entry in self.rows.items() if n <= upto]
        known = [one for page in self.pages for one in page]
        waiting = {entry["id"] for n, entry in self.rows.items() if n > upto}
        kept = [one["entry"] for one in self.held.values()]
        for entry in {one["id"]: one for one in (*sent, *known, *kept)}.values():
            if entry["id"] not in answered | waiting and entry not in received:
                self.save(entry)

    def gather(self) -> None:
        """Put loose records of what the server has into one page, as a start of the app does."""
        sent = [n for n in self.rows if n <= self.mark.sent_upto]
        if len(sent) + len(self.pages) < LOOSE:
            return
        self.pages = [list(self.log().values())]
        for n in sent:
            del self.rows[n]
