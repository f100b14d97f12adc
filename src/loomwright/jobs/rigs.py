"""Rigs, one for each stage, notes, one for each place, and the list that a rig is drafted from: saved against what the
writer saw.
"""

from __future__ import annotations

from loomwright.jobs import documents
from loomwright.jobs.errors import Conflict
from loomwright.jobs.fields import MAX_NOTE, check_id, check_stage, document, line, prose, unknown
from loomwright.jobs.ledger import Ledger
from loomwright.jobs.model import STAGES, Revision, RigAt
from loomwright.jobs.register import as_job

RIG, NOTE, LIST = "rig", "note", "list"


class Rigs(Ledger):
    """Rigs, notes and the equipment list of a job.

    A note's place is a word of the shop's choice; "" is the vehicle as a whole.
    """

    def rig_text(self, job_id: str, stage: str) -> Revision:
        """The rig of a stage as it stands; revision 0 with an empty text where none was saved. Raises UnknownName."""
        return self._current(job_id, RIG, check_stage(stage))

    def rig_at(self, job_id: str, stage: str) -> RigAt:
        """The rig of a stage as it stands, its job, and which stages have one: as of one moment. Raises UnknownName."""
        check_stage(stage)
        with self._read() as session:
            job, heads = documents.heads(session, check_id("job", job_id), RIG, stage)
            if job is None:
                raise unknown("job", job_id)
            found = heads.get(stage, Revision(0, "", job.created_at, current=True))
            return RigAt(as_job(job), found, tuple(s for s in STAGES if s in heads and heads[s].number))

    def rig_revision(self, job_id: str, stage: str, number: int) -> Revision:
        """An earlier, undone or side revision by its number. Raises UnknownName."""
        check_stage(stage)
        with self._read() as session:
            return documents.numbered(session, self._job(session, job_id), RIG, stage, number)

    def save_rig(self, job_id: str, stage: str, text: str, based_on: int, note: str = "", by: str = "") -> Revision:
        """Save the rig of a stage. The text need not be a rig that can be read: it is kept as typed.

        Parameters
        ----------
        based_on : int
            Number of the revision that the writer saw; 0 where there was none.

        Raises
        ------
        Conflict
            Where somebody else saved since. The text is kept as a side revision.
        InputError, UnknownName, Deleted
            Where the text is too large or no text, there is no such job or stage, or the job was deleted.
        """
        return self._save(job_id, RIG, check_stage(stage), text, based_on, note, by)

    def undo(self, job_id: str, stage: str, by: str = "") -> Revision:
        """Take the last save of a stage back; the revision as it is where there is nothing to undo."""
        return self._step(job_id, RIG, check_stage(stage), -1, by)

    def redo(self, job_id: str, stage: str, by: str = "") -> Revision:
        """Take the last undo back; the revision as it is where there is nothing to redo."""
        return self._step(job_id, RIG, check_stage(stage), +1, by)

    def history(self, job_id: str, stage: str, most: int = 200) -> tuple[Revision, ...]:
        """All revisions of a stage, newest first, side revisions and undone ones among them."""
        check_stage(stage)
        with self._read() as session:
            return documents.history(session, self._job(session, job_id), RIG, stage, most)

    def note(self, job_id: str, place: str) -> Revision:
        """The note on a place; revision 0 with an empty text where there is none."""
        return self._current(job_id, NOTE, line("place", place))

    def notes(self, job_id: str) -> tuple[tuple[str, Revision], ...]:
        """Places with a note, in order, each with the note."""
        with self._read() as session:
            job = self._job(session, job_id)
            found = [(place, documents.head(session, job, NOTE, place)) for place in documents.keys(session, job, NOTE)]
        return tuple((place, note) for place, note in found if note.text)

    def save_note(self, job_id: str, place: str, text: str, based_on: int, by: str = "") -> Revision:
        """Save the note on a place, an empty text to take it away. Errors as :meth:`save_rig`."""
        return self._save(job_id, NOTE, line("place", place), prose("note", text, MAX_NOTE), based_on, "", by)

    def undo_note(self, job_id: str, place: str, by: str = "") -> Revision:
        """Take the last save of a note back."""
        return self._step(job_id, NOTE, line("place", place), -1, by)

    def redo_note(self, job_id: str, place: str, by: str = "") -> Revision:
        """Take the last undo of a note back."""
        return self._step(job_id, NOTE, line("place", place), +1, by)

    def equipment(self, job_id: str) -> Revision:
        """The equipment list of a job as it stands; revision 0 with an empty text where there is none."""
        return self._current(job_id, LIST, "")

    def save_equipment(self, job_id: str, text: str, based_on: int, note: str = "", by: str = "") -> Revision:
        """Save the equipment list of a job; it need not be one that can be read. Errors as :meth:`save_rig`."""
        return self._save(job_id, LIST, "", text, based_on, note, by)

    def undo_equipment(self, job_id: str, by: str = "") -> Revision:
        """Take the last save of the equipment list back."""
        return self._step(job_id, LIST, "", -1, by)

    def _current(self, job_id: str, kind: str, key: str) -> Revision:
        with self._read() as session:
            return documents.head(session, self._job(session, job_id), kind, key)

    def _save(self, job_id: str, kind: str, key: str, text: str, based_on: int, note: str, by: str) -> Revision:
        text, note, by = document("text", text), prose("note", note), line("by", by)
        with self._write() as session:
            _held = documents.fetched(session, check_id("job", job_id), kind, key)
            job = self._job(session, job_id, to_write=True)
            saved, wrote = documents.save(session, job, kind, key, text, based_on, note, by)
            if wrote:
                self._log(session, job, kind, key, by)
        if isinstance(saved, Conflict):
            raise saved
        return saved

    def _step(self, job_id: str, kind: str, key: str, way: int, by: str) -> Revision:
        with self._write() as session:
            job = self._job(session, job_id, to_write=True)
            revision, moved = (documents.undo if way < 0 else documents.redo)(session, job, kind, key)
            if moved:
                self._log(session, job, kind, key, by)
            return revision
