"""Ledgers for tests: logs in which every kind of entry that moves something happens."""

from collections.abc import Sequence

from hypothesis import strategies as st

from fallowside.core import plan
from fallowside.core.entries import Entry, moment
from fallowside.core.place import Place
from fallowside.core.shapes import Tally
from fallowside.core.tally import tally, year_before
from tests.logs import AT, Raw, entry, kg, logs

_MINUTES = st.integers(1, 100 * 24 * 60)
_AMOUNT = (
    st.floats(0.01, 20.0).map(kg)
    | st.floats(0.1, 3.0).map(lambda part: {"container": "caddy", "filled": part})
    | st.floats(0.1, 30.0).map(lambda litres: {"value": litres, "unit": "L"})
)
_GIVEN = st.fixed_dictionaries(
    {
        "station": st.sampled_from(["bed", "bin"]),
        "what": st.sampled_from(["larvae", "castings", "frass", "leachate"]),
        "amount": _AMOUNT,
        "to": st.sampled_from(["pond", "hens", "garden", "frozen", "sold"]),
    }
)
_SOLIDS = st.fixed_dictionaries(
    {"station": st.just("pond"), "amount": _AMOUNT, "to": st.sampled_from(["bed", "garden"])}
)
_FED_BACK = st.fixed_dictionaries(
    {
        "station": st.just("bed"),
        "side": st.just("a"),
        "feedstock": st.sampled_from(["finished_castings", "larvae_residue", "pond_solids"]),
        "amount": _AMOUNT,
    }
)
_CLEARED = st.fixed_dictionaries(
    {
        "station": st.just("bin"),
        "amount": _AMOUNT,
        "to": st.sampled_from(["bed", "garden", "curing", "burial", "landfill", "other"]),
    }
)
_WEIGHED_AGAIN = st.fixed_dictionaries(
    {
        "what": st.just("container"),
        "item": st.just("caddy"),
        "set": st.floats(0.5, 6.0).map(lambda full: {"full_mass": kg(full)}),
    }
)
_MORE: dict[str, st.SearchStrategy[Raw]] = {
    "given": _GIVEN,
    "solids": _SOLIDS,
    "feed": _FED_BACK,
    "clear_out": _CLEARED,
    "setup": _WEIGHED_AGAIN,
}


@st.composite
def ledgers(draw: st.DrawFn, most: int = 25) -> list[Raw]:
    """Draw a log as `logs` does, with products handed on or fed back, solids drawn, the caddy reweighed."""
    made = draw(logs(most))
    for number in range(draw(st.integers(0, most))):
        kind = draw(st.sampled_from(sorted(_MORE)))
        fields = draw(_MORE[kind])
        made.append({**entry(kind, draw(_MINUTES), **fields), "id": f"m{number:03d}"})
    return made


def read(raws: Sequence[Raw]) -> tuple[list[Entry], Place]:
    """Read a log as the plan does: judged, corrected, sorted."""
    log = plan.Fold(raws)._read(moment(AT))
    return [one for one in log.entries if one.us <= moment(AT).us], log.place


def year(raws: Sequence[Raw]) -> Tally:
    """Tally the year of a log."""
    entries, place = read(raws)
    day = moment(AT).day
    return tally(entries, place, year_before(day), day)
