"""Asked by mkdocs while it builds the pages: puts the pictures of the guides below their steps, if there are any."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from mkdocs.structure.files import File, Files

if TYPE_CHECKING:
    from mkdocs.config.defaults import MkDocsConfig
    from mkdocs.structure.pages import Page

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts.make_guides import GUIDES


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the pictures that there are."""
    for guide in GUIDES:
        for step in guide.steps:
            taken = guide.pictures / f"{step.name}.png"
            if taken.exists():
                name = f"img/{guide.name}/{taken.name}"
                files.append(File.generated(config, name, abs_src_path=str(taken)))
    return files


def on_page_markdown(markdown: str, page: Page, config: MkDocsConfig, files: Files) -> str:
    """Put each picture below the words of its step."""
    guide = next((g for g in GUIDES if g.page.name == page.file.src_uri), None)
    for step in guide.steps if guide is not None else ():
        name = f"img/{guide.name}/{step.name}.png"  # type: ignore[union-attr]
        taken = files.get_file_from_path(name)
        shown = f"![{step.title}: the page afterwards]({name})" if taken else "*No picture: chromium was missing.*"
        markdown = markdown.replace(step.words, f"{step.words}\n\n{shown}")
    return markdown
