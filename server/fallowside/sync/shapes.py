"""The shapes of a sync call and its answer: the service's description and the phone's types are made of them.

The way of an entry itself never builds these: `call.py` reads bytes, and `reply.py` writes them.
"""

from typing import Annotated, NotRequired, TypedDict

from pydantic import Field

from fallowside.sync.call import MOST_ENTRIES, NAME


class Envelope(TypedDict):
    """What every entry may say, whatever its kind; the fields of its kind stand beside these."""

    id: str
    kind: str
    at: str
    station: NotRequired[str]
    side: NotRequired[str]
    noted_at: NotRequired[str]
    by: NotRequired[str]
    device: NotRequired[str]
    note: NotRequired[str]


class HandedOut(Envelope):
    """An entry of the log, with the fields the server adds."""

    seq: int
    received_at: str


class SyncCall(TypedDict):
    """What a device sends."""

    device: Annotated[str, Field(description="its name for itself", pattern=NAME)]
    cursor: NotRequired[
        Annotated[int, Field(ge=0, le=2**53, description="it has seen every entry up to this `seq`")]
    ]
    entries: NotRequired[
        Annotated[
            list[dict[str, object]],
            Field(
                max_length=MOST_ENTRIES,
                description="entries: an envelope (`id`, `kind`, `at`, …) and the fields of the kind",
            ),
        ]
    ]
    sent_at: NotRequired[
        Annotated[
            str | None, Field(description="the device's clock, RFC 3339", examples=["2026-03-01T07:30:00Z"])
        ]
    ]
    log: NotRequired[
        Annotated[str | None, Field(description="the log its cursor belongs to, as a reply named it")]
    ]


class HeldEntry(TypedDict):
    """An entry of the call that was set aside, and what to mend."""

    id: str | None
    index: Annotated[int, Field(description="where it stood in the call, from 0")]
    ref: Annotated[str, Field(description="names it for `/api/held/{ref}/drop`, also where it has no id")]
    code: str
    why: str
    field: str
    values: dict[str, object]


class SyncReply(TypedDict):
    """What became of a call, and what the device has not seen."""

    accepted: Annotated[list[str], Field(description="ids of the call that are in the log now")]
    held: list[HeldEntry]
    entries: list[HandedOut]
    cursor: Annotated[int, Field(description="send this with the next call")]
    more: Annotated[bool, Field(description="whether there is more to fetch")]
    log: Annotated[str, Field(description="which log this is; another name means: send and fetch all anew")]
    server_time: str
    clock_skew_s: NotRequired[
        Annotated[
            int,
            Field(description="server's clock minus the device's, where it is more than two minutes"),
        ]
    ]
