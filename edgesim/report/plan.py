"""From a forecast to the plan: contents gathered, rendered, and moved into place."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

import xarray as xr

from edgesim.errors import DataFileError
from edgesim.report.cautions import caution_page
from edgesim.report.content import FRONT
from edgesim.report.content_later import BACK
from edgesim.report.document import Document
from edgesim.report.exhibits import FIGURES_FOLDER, TABLES_FOLDER, Progress, Shelf, fill_shelf
from edgesim.report.html import write_html
from edgesim.report.view import write_view
from edgesim.report.word import write_docx
from edgesim.scenario import CAUTIONS

HTML, DOCX, VIEW = "plan.html", "plan.docx", "view.html"
CAUTIONS_FILE = "cautions.txt"
"""Goes with figures and tables, which somebody may carry away without the plan."""

FORMS = {"html": HTML, "docx": DOCX}
PARTS = (HTML, DOCX, VIEW, FIGURES_FOLDER, TABLES_FOLDER)


def make_document(shelf: Shelf) -> Document:
    """Write the plan as neutral content.

    Parameters
    ----------
    shelf : Shelf
        What the forecast can show.

    Returns
    -------
    Document
    """
    attrs = shelf.dataset.attrs
    return Document(
        title=str(attrs["title"]),
        subtitle="Adaptive management plan, draft for review",
        imprint=(
            f"Made by {attrs['source']}, seed {int(attrs['seed'])}, from {shelf.dataset.sizes['member']} "
            f"futures of {shelf.dataset.sizes['option']} options. {attrs['comment']}"
        ),
        cautions=caution_page(),
        sections=tuple(section(shelf) for section in (*FRONT, *BACK)),
        figures=shelf.figures,
        tables=shelf.tables,
    )


def write_plan(
    dataset: xr.Dataset,
    folder: Path,
    forms: Sequence[str] = tuple(FORMS),
    workers: int | None = None,
    report: Progress | None = None,
) -> list[Path]:
    """Write the plan with its figures and tables into a folder.

    Parameters
    ----------
    dataset : xarray.Dataset
        A forecast.
    folder : Path
        Exists; parts of an earlier plan in it are replaced when the new ones are complete.
    forms : sequence of str
        Keys of `FORMS`.
    workers : int, optional
        Processes that draw; by default one for each core.
    report : callable, optional
        Called with the figures and tables done and those in all.

    Returns
    -------
    list of Path
        What was written.

    Raises
    ------
    DataFileError
        If the folder cannot be written.
    """
    beside = folder / f".plan.{os.getpid()}.part"
    try:
        beside.mkdir()
        shelf = fill_shelf(dataset, beside, workers, report)
        document = make_document(shelf)
        for form, write in (("html", write_html), ("docx", write_docx)):
            if form in forms:
                write(document, dataset, beside / FORMS[form])
        write_view(dataset, beside / VIEW)
        for apart in (FIGURES_FOLDER, TABLES_FOLDER):
            (beside / apart / CAUTIONS_FILE).write_text(f"{CAUTIONS}\n", encoding="utf-8")
        return [_moved(part, folder / part.name) for part in sorted(beside.iterdir())]
    except DataFileError:
        raise
    except OSError as error:
        msg = f"{folder}: cannot be written ({error.strerror or error}). Name a folder of your own with --output."
        raise DataFileError(msg) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _moved(part: Path, target: Path) -> Path:
    """Move a complete part into place."""
    if target.is_dir():
        shutil.rmtree(target)
    part.replace(target)
    return target
