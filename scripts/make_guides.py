"""Write the pages of the guided jobs, and walk their steps in a browser for the pictures.

``python scripts/make_guides.py`` does both; where there is no browser, the pages have no pictures.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts import first_job, from_list

GUIDES = (first_job.GUIDE, from_list.GUIDE)


def main() -> int:
    """Write the pages; take the pictures where there is a browser."""
    chromium = shutil.which("chromium")
    for guide in GUIDES:
        guide.page.write_text(guide.text(), encoding="utf-8", newline="\n")
        if chromium is not None:
            guide.walk(chromium, guide.pictures)
    if chromium is None:
        print("The guides have no pictures: chromium is missing. `bash scripts/set_up.sh system` installs it.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
