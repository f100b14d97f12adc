"""Asked by mkdocs while it builds the pages: puts the pictures of the first job below its steps, if there are any."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from mkdocs.structure.files import File, Files

if TYPE_CHECKING:
    from mkdocs.config.defaults import MkDocsConfig
    from mkdocs.structure.pages import Page

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts.make_first_job import PICTURES, STEPS


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the pictures that there are."""
    for step in STEPS:
        taken = PICTURES / f"{step.name}.png"
        if taken.exists():
            files.append(File.generated(config, f"img/first_job/{taken.name}", abs_src_path=str(taken)))
    return files


def on_page_markdown(markdown: str, page: Page, config: MkDocsConfig, files: Files) -> str:
    """Put each picture below the words of its step."""
    if page.file.src_uri != "first-job.md":
        return markdown
    for step in STEPS:
        name = f"img/first_job/{step.name}.png"
        taken = files.get_file_from_path(name)
        shown = f"![{step.title}: the page afterwards]({name})" if taken else "*No picture: chromium was missing.*"
        markdown = markdown.replace(step.words, f"{step.words}\n\n{shown}")
    return markdown
