"""Warnings of any station: how one is put together, and the order in which they are shown."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from fallowside.core.shapes import Value, Warning, because

Level = Literal["note", "caution", "danger"]


@dataclass(frozen=True, slots=True)
class Warner:
    """Puts warnings of one kind of station together.

    Attributes:
        kind: The kind of station, which its message keys begin with.
        data: The file its constants are in.
    """

    kind: str
    data: str

    def __call__(
        self,
        code: str,
        level: Level,
        ids: Sequence[str] = (),
        constants: Sequence[str] = (),
        remedies: Sequence[str] = (),
        side: str | None = None,
        says: str = "",
        /,
        **values: Value,
    ) -> Warning:
        """Give a warning.

        Args:
            code: What is the matter.
            level: How grave it is.
            ids: Entries it rests on.
            constants: Constants it rests on, by their names in the file.
            remedies: What to do, first thing first.
            side: Of a bed.
            says: Its message, if that is not named by the code.
            **values: For the message.
        """
        key = f"{self.kind}.warn.{says or code}"
        return {
            "code": code,
            "level": level,
            "side": side,
            "because": because(key, list(ids), [f"{self.data}.{name}" for name in constants], **values),
            "remedies": [f"{self.kind}.remedy.{name}" for name in remedies],
        }


def ordered(warnings: Iterable[Warning]) -> list[Warning]:
    """Sort warnings: the gravest first, then by code and side."""
    return sorted(warnings, key=lambda one: (_ORDER[one["level"]], one["code"], one["side"] or ""))


_ORDER: Final[Mapping[str, int]] = {"danger": 0, "caution": 1, "note": 2}
