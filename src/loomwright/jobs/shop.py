"""What belongs to the shop, not to one job: its settings and its own catalogue, saved against what the writer saw."""

from __future__ import annotations

import dataclasses
import json
from functools import cache
from typing import Literal, get_args, get_type_hints

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from loomwright.jobs.errors import Conflict
from loomwright.jobs.fields import document, line, problem
from loomwright.jobs.ledger import Ledger, now
from loomwright.jobs.model import Revision, Settings
from loomwright.jobs.schema import ShopRow
from loomwright.rig import catalogue
from loomwright.rig.words import nearest, plain

ShopKey = Literal["settings", "catalogue"]
CATALOGUE_FILE = "shop catalogue"


class Shop(Ledger):
    """Settings and catalogue of the shop."""

    def settings(self) -> Settings:
        """The shop's settings; the usual ones where none were saved."""
        found = self.shop_text("settings")
        return dataclasses.replace(read_settings(found.text), number=found.number)

    def save_settings(self, settings: Settings, by: str = "") -> Settings:
        """Save the settings; ``settings.number`` says which ones the writer saw.

        Raises
        ------
        Conflict
            Where somebody else saved others since; these are kept as a side revision.
        InputError
            Where a setting is none of those there are.
        """
        saved = self._save_shop("settings", write_settings(settings), settings.number, "", by)
        return dataclasses.replace(settings, number=saved.number)

    def save_catalogue(self, text: str, based_on: int, note: str = "", by: str = "") -> Revision:
        """Save the shop's own catalogue, an empty text to do without one.

        Raises
        ------
        InputError
            With every problem of a catalogue that cannot be used. Nothing changes.
        Conflict
            Where somebody else saved since; the text is kept as a side revision.
        """
        if text.strip():
            catalogue.parse(text, CATALOGUE_FILE)
        return self._save_shop("catalogue", text, based_on, note, by)

    def shop_text(self, key: ShopKey) -> Revision:
        """Settings or catalogue as they stand; revision 0 with an empty text where nothing was saved."""
        with self._read() as session:
            return _current(session, key)

    def undo_shop(self, key: ShopKey, based_on: int, by: str = "") -> Revision:
        """Put back the text before the current one; done twice, it is as before. Errors as :meth:`save_catalogue`."""
        with self._read() as session:
            seen = session.get(ShopRow, (key, based_on))
            before = session.get(ShopRow, (key, seen.parent)) if seen is not None else None
            text = before.text if before is not None else ""
        return self._save_shop(key, text, based_on, "Undone", by)

    def shop_history(self, key: ShopKey, most: int = 50) -> tuple[Revision, ...]:
        """The revisions, newest first, side revisions among them."""
        with self._read() as session:
            query = select(ShopRow).where(ShopRow.key == key).order_by(ShopRow.number.desc()).limit(most)
            return tuple(_as_revision(r) for r in session.scalars(query))

    def _save_shop(self, key: ShopKey, text: str, based_on: int, note: str, by: str) -> Revision:
        text, note, by = document(key, text), line("note", note, 200), line("by", by)
        with self._write() as session:
            current = _current(session, key)
            if text == current.text:
                return current
            side = based_on != current.number
            last = session.scalars(_of(key).order_by(ShopRow.number.desc()).limit(1)).first()
            number = (last.number if last is not None else 0) + 1
            row = ShopRow(
                key=key, number=number, parent=based_on if side else current.number, side=side, text=text, note=note,
                at=now(), by=by,
            )  # fmt: skip
            session.add(row)
            self._log_shop(session, key, by=by)
            session.flush()
            saved = _as_revision(row)
            base = session.get(ShopRow, (key, based_on))
        if side:
            raise Conflict(_as_revision(base) if base is not None else Revision(0, "", saved.at), saved, current)
        return saved


@cache
def _kinds() -> dict[str, object]:
    return get_type_hints(Settings)


def read_settings(text: str) -> Settings:
    """Settings from their text; what is not known any more counts as usual."""
    try:
        found = json.loads(text) if text else {}
    except ValueError:
        found = {}
    kinds = _kinds()
    known = {k: v for k, v in found.items() if k in kinds and v in get_args(kinds[k])}
    return Settings(**known)


def write_settings(settings: Settings) -> str:
    """Settings as a text. Raises InputError where one is none of those there are."""
    given = {k: v for k, v in dataclasses.asdict(settings).items() if k != "number"}
    kinds = get_type_hints(Settings)
    for key, value in given.items():
        options = get_args(kinds[key])
        if value not in options:
            near = nearest(str(value), options)
            remedy = f'Did you mean "{near}"?' if near else "Choose one of these."
            raise problem(key, f"one of {', '.join(options)}", f'"{plain(str(value), 40)}"', remedy, "settings")
    return json.dumps(given, indent=1, sort_keys=True) + "\n"


def _of(key: ShopKey) -> Select[ShopRow]:
    return select(ShopRow).where(ShopRow.key == key)


def current_text(session: Session, key: ShopKey) -> str:
    """Settings or catalogue as they stand."""
    return _current(session, key).text


def put_text(session: Session, key: ShopKey, text: str, note: str, by: str) -> None:
    """Put a text on top of the current one, within a transaction."""
    current = _current(session, key)
    last = session.scalars(_of(key).order_by(ShopRow.number.desc()).limit(1)).first()
    number = (last.number if last is not None else 0) + 1
    session.add(
        ShopRow(key=key, number=number, parent=current.number, side=False, text=text, note=note, at=now(), by=by)
    )


def _current(session: Session, key: ShopKey) -> Revision:
    query = _of(key).where(ShopRow.side.is_(False)).order_by(ShopRow.number.desc()).limit(1)
    row = session.scalars(query).first()
    return _as_revision(row, current=True) if row is not None else Revision(0, "", now(), current=True)


def _as_revision(row: ShopRow, current: bool = False) -> Revision:
    return Revision(
        row.number, row.text, row.at, row.note, row.by, row.parent, row.side, current, can_undo=current
    )
