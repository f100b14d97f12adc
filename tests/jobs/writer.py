"""A process that writes at random and says so, until it is killed: ``writer.py URL FOLDER SEED COUNT``.

It prints a line of JSON for each write, once the store has acknowledged it.
"""

from __future__ import annotations

import io
import json
import random
import sys

from PIL import Image

from loomwright.jobs.model import STAGES
from loomwright.jobs.store import Store


def main(url: str, folder: str, seed: int, count: int) -> None:
    chance = random.Random(seed)
    store = Store(url, folder)
    jobs: list[str] = []
    for i in range(count):
        what = chance.choice(("job", "rig", "rig", "rig", "note", "reading", "photo")) if jobs else "job"
        job = chance.choice(jobs) if jobs else ""
        if what == "job":
            made = store.create_job(f"job {i}").id
            jobs.append(made)
            say({"what": "job", "job": made, "text": f"job {i}"})
        elif what == "rig":
            stage = chance.choice(STAGES)
            text = f"write {i}\n" * chance.randint(1, 2000)
            number = store.save_rig(job, stage, text, store.rig_text(job, stage).number).number
            say({"what": "rig", "job": job, "key": stage, "number": number, "text": text})
        elif what == "note":
            store.save_note(job, f"place {i}", f"note {i}", 0)
            say({"what": "note", "job": job, "key": f"place {i}", "text": f"note {i}"})
        elif what == "reading":
            made = store.add_reading(job, "battery", "rest", i / 10, "V").id
            say({"what": "reading", "job": job, "key": made, "value": i / 10})
        else:
            out = io.BytesIO()
            Image.new("RGB", (64, 48), (i % 256, 99, 33)).save(out, "PNG")
            made = store.add_photo(job, "seat", out.getvalue()).id
            say({"what": "photo", "job": job, "key": made})


def say(line: dict[str, object]) -> None:
    print(json.dumps(line), flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
