"""The store of jobs: one class that does all of it.

    with Store(default_url()) as store:
        job = store.create_job("Carnival trike")
        store.save_rig(job.id, "as found", text, based_on=0)

A write is on the disk when its call returns. A store may be used from several threads, and several
processes may use the same one.
"""

from __future__ import annotations

from loomwright.jobs.acts import Acts
from loomwright.jobs.backup import Backup
from loomwright.jobs.places import default_folder, default_url, url_in
from loomwright.jobs.readings import Readings
from loomwright.jobs.rigs import Rigs
from loomwright.jobs.shop import Shop
from loomwright.jobs.stock import Stock
from loomwright.jobs.tidy import Tidy

__all__ = ["Store", "default_folder", "default_url", "url_in"]


class Store(Backup, Rigs, Readings, Acts, Shop, Stock, Tidy):
    """Jobs with their rigs, notes, photographs, readings and builds, and what belongs to the shop, in SQLite or
    PostgreSQL.
    """
