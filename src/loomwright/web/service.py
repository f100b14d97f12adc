"""The bench: what every page asks for. It joins the store to the studies and adds nothing of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from loomwright import demo
from loomwright.errors import UnknownName
from loomwright.jobs.model import STAGES, Job, Revision
from loomwright.jobs.spools import OnTheShelf, on_the_shelf
from loomwright.jobs.store import Store
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.words import nearest
from loomwright.web import catalogues, draft
from loomwright.web.config import Config
from loomwright.web.draft import Draft
from loomwright.web.feed import Feed
from loomwright.web.shop_texts import ShopTexts
from loomwright.web.tokens import Pairing
from loomwright.web.work.tasks import Tasks
from loomwright.web.worked import Shelf, Worked

SLUGS = {stage.replace(" ", "-"): stage for stage in STAGES}
"""Stages as an address writes them."""


@dataclass(frozen=True, slots=True)
class Opened:
    """One rig of a job, as the store has it now."""

    job: Job
    stage: str
    revision: Revision
    worked: Worked
    stages: tuple[str, ...]
    """Stages of the job that have a rig."""

    @property
    def draft(self) -> Draft:
        """The text as far as it goes."""
        return self.worked.draft

    @property
    def own(self) -> str:
        """The text of the shop's own catalogue that the rig is read with."""
        return self.worked.own

    @property
    def parts(self) -> Catalogue:
        """The catalogue that the rig is read with."""
        return catalogues.usable(self.own)

    @property
    def slug(self) -> str:
        return self.stage.replace(" ", "-")

    @property
    def url(self) -> str:
        """Where the pages of this rig begin."""
        return f"/jobs/{self.job.id}/{self.slug}"

    @property
    def begun(self) -> bool:
        """True where there is a text at all."""
        return bool(self.revision.text)

    @property
    def by(self) -> str:
        """What the rig is called among those that want something worked out."""
        return f"{self.job.id}/{self.slug}"


class Bench:
    """One server's store and studies."""

    def __init__(self, config: Config, shelf: Shelf | None = None) -> None:
        self.config = config
        self.store = Store(config.store_url)
        self.shop = ShopTexts(self.store)
        self._owns_tasks = shelf is None
        self.shelf = Shelf(Tasks()) if shelf is None else shelf
        self.feed = Feed(self.store, self.tasks)
        self.pairing = Pairing()
        self.paired: Callable[[], None] = lambda: None

    def close(self) -> None:
        """Let go of worker and store."""
        if self._owns_tasks:
            self.tasks.close()
        self.feed.close()
        self.shop.close()
        self.store.close()

    @property
    def tasks(self) -> Tasks:
        """The long work of this server."""
        return self.shelf.tasks

    def opened(self, job_id: str, slug: str) -> Opened:
        """One rig of a job.

        Raises
        ------
        UnknownName
            Where there is no such job or stage.
        """
        stage = stage_of(slug)
        found = self.store.rig_at(job_id, stage)
        worked = self.shelf.worked(found.revision.text, stage, self.own_catalogue())
        opened = Opened(found.job, stage, found.revision, worked, found.begun)
        self.shelf.ahead(worked, opened.by)
        return opened

    def own_catalogue(self) -> str:
        """The text of the shop's own catalogue; empty where there is none."""
        return self.shop.text("catalogue")

    def wire_in_stock(self) -> OnTheShelf:
        """The wire in the shop's stock, as the cutting plan takes it."""
        return on_the_shelf(self.store.stock(), catalogues.usable(self.own_catalogue()))

    def first_stage(self, job_id: str) -> str:
        """The stage to open a job at: planned where it has a rig, else the first that has one."""
        for stage in ("planned", "as built", "as found"):
            if self.store.rig_text(job_id, stage).text:
                return stage.replace(" ", "-")
        return "planned"

    def start(self, title: str, source: str) -> Job:
        """A new job: empty, or with a demo rig in its stage.

        Raises
        ------
        InputError, UnknownName
            Where the title cannot be used, or there is no such demo rig.
        """
        if source == "empty":
            job = self.store.create_job(title)
            self._begin(job, "planned", draft.empty_rig(job.title, "planned"), "An empty rig")
            return job
        rigs = _sample(source)
        job = self.store.create_job(title or rigs[-1][1].title.partition(",")[0])
        for text, read in rigs:
            stage = self.shelf.worked(text, "sample").rig
            self._begin(job, stage.stage if stage else "planned", text, f"From the sample: {read.title}")
        return job

    def open_sample(self, name: str) -> str:
        """Where a sample is looked at: the job that was made of it before, or a new one.

        Raises
        ------
        UnknownName
            Where there is no sample of that name.
        """
        title = _sample(name)[-1][1].title.partition(",")[0]
        known = next((j.id for j in self.store.jobs() if j.title == title), None)
        job_id = known if known is not None else self.start("", name).id
        return f"/jobs/{job_id}/{self.first_stage(job_id)}/rig"

    def open_file(self, text: str) -> str:
        """Where a rig file is looked at: the job that holds this very text, or a new one."""
        read = draft.read(text)
        rig = self.shelf.worked(text, "rig", self.own_catalogue()).rig
        stage = rig.stage if rig is not None else "planned"
        for job in self.store.jobs():
            if stage in job.stages and self.store.rig_text(job.id, stage).text == text:
                return f"/jobs/{job.id}/{stage.replace(' ', '-')}/rig"
        made = self.store.create_job(read.title or "A rig")
        self._begin(made, stage, text, "From a file")
        return f"/jobs/{made.id}/{stage.replace(' ', '-')}/rig"

    def begin_stage(self, opened: Opened, source: str) -> None:
        """Put a first rig into a stage: an empty one, or a copy of another stage's."""
        if source == "empty":
            text = draft.empty_rig(opened.job.title, opened.stage)
        else:
            other = self.store.rig_text(opened.job.id, stage_of(source))
            text = with_stage(other.text, opened.stage)
        self._save(opened.job.id, opened.stage, text, opened.revision.number, f"Begun from: {source}")

    def edit(
        self, opened: Opened, based_on: int, change: Callable[[str], str], note: str
    ) -> Revision:
        """Change a rig's text as it stood at revision ``based_on``, and save it.

        Raises
        ------
        InputError
            Where the edit itself is unsound.
        Conflict
            Where somebody saved meanwhile; both texts are kept.
        """
        base = (
            opened.revision
            if opened.revision.number == based_on
            else self.store.rig_revision(opened.job.id, opened.stage, based_on)
        )
        text = change(base.text)
        if text != base.text:
            before, after = (self.shelf.worked(t, opened.stage, opened.own) for t in (base.text, text))
            draft.check(before.problems, after.problems)
            after.ask(opened.by)  # while it is being written to the disk
        if text == base.text and base.number == opened.revision.number:
            return base
        return self._save(opened.job.id, opened.stage, text, based_on, note)

    def take_draft(self, job_id: str, text: str, based_on: int, note: str) -> Revision:
        """Make a drafted rig the planned one, on top of revision ``based_on``. Raises Conflict."""
        return self._save(job_id, "planned", text, based_on, note)

    def _begin(self, job: Job, stage: str, text: str, note: str) -> None:
        self._save(job.id, stage, text, 0, note)

    def _save(self, job_id: str, stage: str, text: str, based_on: int, note: str) -> Revision:
        saved = self.store.save_rig(job_id, stage, text, based_on, note)
        worked = self.shelf.worked(saved.text, stage, self.own_catalogue())
        self.shelf.ahead(worked, f"{job_id}/{stage.replace(' ', '-')}")
        return saved


def stage_of(slug: str) -> str:
    """The stage that an address names. Raises UnknownName with the nearest one."""
    if slug not in SLUGS:
        near = nearest(slug, SLUGS)
        hint = f"Did you mean {near}?" if near else f"There are: {', '.join(SLUGS)}."
        raise UnknownName(f"no stage of that name. {hint}")
    return SLUGS[slug]


SAMPLES = {
    "carnival_trike": ("carnival_trike_as_found", "carnival_trike_planned"),
    "harvest_buggy": ("harvest_buggy",),
    "canal_launch": ("canal_launch",),
}
"""Demo jobs and the rigs in them."""


def samples() -> tuple[tuple[str, str], ...]:
    """Demo jobs: their name and their title."""
    return tuple((name, draft.read(demo.text(rigs[-1])).title) for name, rigs in SAMPLES.items())


def _sample(name: str) -> list[tuple[str, Draft]]:
    if name not in SAMPLES:
        raise UnknownName(f"no sample of that name. There are: {', '.join(SAMPLES)}.")
    return [(text, draft.read(text)) for text in map(demo.text, SAMPLES[name])]


def with_stage(text: str, stage: str) -> str:
    """The text of a rig under another stage."""
    import tomlkit

    document = tomlkit.parse(text)
    document["stage"] = stage
    return tomlkit.dumps(document)
