"""Writes to the filters that are set on a processor or an amplifier."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from loomwright.rig import edit_bands
from loomwright.rig.keys import BandKeys
from loomwright.web import draft, forms, sheets
from loomwright.web.pages.saving import AT, Field, Many, Seen, saved
from loomwright.web.units import read

router = APIRouter(tags=["writes"])


@router.post(AT + "/item/band")
def set_band(
    request: Request, job_id: str, stage: str, based_on: Seen, item: Field, band: Seen, channels: Many = [],  # noqa: B006
    high_pass_hz: Field = "", low_pass_hz: Field = "", slope_db: Field = "", alignment: Field = "", limit_w: Field = "",
    units: Field = "",
) -> Response:  # fmt: skip
    """Change the filters on some channels of an item."""
    given = _given(channels, high_pass_hz, low_pass_hz, slope_db, alignment, limit_w)

    def change(text: str) -> str:
        read_text = draft.read(text)
        found = read_text.item(item)
        standing = sheets.bands(read_text, found) if found is not None else []
        was = standing[band - 1] if 1 <= band <= len(standing) else {}
        return edit_bands.set_band(text, item, band, forms.changes(BandKeys, was, given, read(units)))

    chosen = {"item": item, "band": str(band)}
    typed = {**given, "units": units}
    return saved(request, job_id, stage, based_on, change, f"Filters on {item}", chosen, typed, {"item": item})


@router.post(AT + "/item/band/add")
def add_band(
    request: Request, job_id: str, stage: str, based_on: Seen, item: Field, channels: Many = [],  # noqa: B006
    high_pass_hz: Field = "", low_pass_hz: Field = "", slope_db: Field = "", alignment: Field = "", limit_w: Field = "",
    units: Field = "",
) -> Response:  # fmt: skip
    """Set filters on some channels of an item."""
    given = _given(channels, high_pass_hz, low_pass_hz, slope_db, alignment, limit_w)

    def change(text: str) -> str:
        return edit_bands.add_band(text, item, forms.changes(BandKeys, {}, given, read(units)))

    chosen = {"item": item, "band": "new"}
    typed = {**given, "units": units}
    return saved(request, job_id, stage, based_on, change, f"Filters set on {item}", chosen, typed, {"item": item})


@router.post(AT + "/item/band/remove")
def remove_band(request: Request, job_id: str, stage: str, based_on: Seen, item: Field, band: Seen) -> Response:
    """Take the filters off some channels of an item."""
    chosen = {"item": item, "band": str(band)}
    return saved(
        request, job_id, stage, based_on, lambda text: edit_bands.remove_band(text, item, band),
        f"Filters taken off {item}", chosen, {}, after={"item": item},
    )  # fmt: skip


def _given(
    channels: list[str], high_pass_hz: str, low_pass_hz: str, slope_db: str, alignment: str, limit_w: str
) -> dict[str, str | list[str]]:
    return {"channels": channels, "high_pass_hz": high_pass_hz, "low_pass_hz": low_pass_hz, "slope_db": slope_db,
            "alignment": alignment, "limit_w": limit_w}  # fmt: skip
