"""Figures and tables as they enter a plan: drawn, saved, and found by their number.

A plan asks for "F12" or "T5"; what the registries of figures and tables hold under that
number (12, 12b, ...) is shown there, or the reason why it cannot be.
"""

from __future__ import annotations

import multiprocessing
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from pathlib import Path

import xarray as xr

from edgesim.errors import StudyError
from edgesim.figures import FIGURES
from edgesim.figures.registry import Entry
from edgesim.figures.saving import save_figure
from edgesim.outcomes.tables import TABLES, TableEntry, write_csv
from edgesim.report.document import (
    Block,
    FigureContent,
    FigureHere,
    Missing,
    TableContent,
    TableHere,
)

FIGURES_FOLDER, TABLES_FOLDER = "figures", "tables"

Progress = Callable[[int, int], None]


@dataclass
class Shelf:
    """What figures and tables a forecast can fill, and which the plan has placed already.

    Attributes
    ----------
    dataset : xarray.Dataset
        The forecast.
    figures, tables : mapping
        Contents by key.
    absent : mapping
        ``fig:key`` or ``tab:key`` of what cannot be filled -> the sentence that says why.
    """

    dataset: xr.Dataset
    figures: Mapping[str, FigureContent]
    tables: Mapping[str, TableContent]
    absent: Mapping[str, str]
    placed: set[str] = field(default_factory=set)

    def show(self, *numbers: str) -> list[Block]:
        """Place the figures and tables of these numbers, or say why they are not there."""
        blocks: list[Block] = []
        for number in numbers:
            if not keys_of(number):
                blocks.append(
                    Missing(f"what belongs here as {number}; this version does not make it.")
                )
            for key in keys_of(number):
                target = target_of(number, key)
                if target not in self.placed:
                    self.placed.add(target)
                    blocks.append(self._block(target, key))
        return blocks

    def _block(self, target: str, key: str) -> Block:
        is_figure = target.startswith("fig:")
        if target in self.absent:
            title = (FIGURES[key] if is_figure else TABLES[key]).title
            reason = self.absent[target].removeprefix("not provided: ")
            return Missing(f"{'figure' if is_figure else 'table'} “{title}”. Reason: {reason}")
        return FigureHere(key) if is_figure else TableHere(key)

    def see(self, *numbers: str) -> str:
        """References to what there is of these numbers, in brackets; "" if there is nothing."""
        found = [
            f"[[{target_of(number, key)}]]"
            for number in numbers
            for key in keys_of(number)
            if target_of(number, key) not in self.absent
        ]
        return f" ({', '.join(found)})" if found else ""

    def rest(self) -> list[Block]:
        """Place everything that no section has asked for."""
        return self.show(*dict.fromkeys(_bare(entry.number) for entry in _all_entries()))


def target_of(number: str, key: str) -> str:
    """What a reference to a figure or table says, from its number and key."""
    return f"{'fig' if number.startswith('F') else 'tab'}:{key}"


def _bare(number: str) -> str:
    """Number without the letter of a variant.

    Examples
    --------
    >>> _bare("F14b"), _bare("T3")
    ('F14', 'T3')
    """
    found = re.match(r"[FT]\d+", number)
    return found[0] if found else number


def _all_entries() -> Iterable[Entry | TableEntry]:
    return [*FIGURES.values(), *TABLES.values()]


def keys_of(number: str) -> list[str]:
    """Keys of the figures or tables of a number, variants after it."""
    registry: Mapping[str, Entry | TableEntry] = FIGURES if number[0] == "F" else TABLES
    found = [key for key, entry in registry.items() if _bare(entry.number) == number]
    return sorted(found, key=lambda key: registry[key].number)


def fill_shelf(
    dataset: xr.Dataset, folder: Path, workers: int | None = None, report: Progress | None = None
) -> Shelf:
    """Build every figure and table that a forecast can fill, and save them below a folder.

    Parameters
    ----------
    dataset : xarray.Dataset
        The forecast.
    folder : Path
        Exists; gets ``figures`` and ``tables``.
    workers : int, optional
        Processes that draw; by default one for each core.
    report : callable, optional
        Called with the figures and tables done and those in all.

    Returns
    -------
    Shelf
    """
    told = report or _say_nothing
    absent = {
        f"{kind}:{key}": reason
        for kind, registry in (("fig", FIGURES), ("tab", TABLES))
        for key, entry in registry.items()
        if (reason := entry.missing(dataset))
    }
    to_build = [key for key in TABLES if f"tab:{key}" not in absent]
    to_draw = [key for key in FIGURES if f"fig:{key}" not in absent]
    total = len(to_build) + len(to_draw)
    (folder / TABLES_FOLDER).mkdir()
    (folder / FIGURES_FOLDER).mkdir()
    tables: dict[str, TableContent] = {}
    figures: dict[str, FigureContent] = {}
    for key in to_build:
        tables[key] = build(dataset, key, folder)
        told(len(tables), total)
    for figure in _drawn(dataset, to_draw, folder / FIGURES_FOLDER, workers):
        figures[figure.key] = figure
        told(len(tables) + len(figures), total)
    return Shelf(dataset, figures, tables, absent)


def _say_nothing(_done: int, _total: int) -> None:
    """Report no progress."""


def build(dataset: xr.Dataset, key: str, folder: Path) -> TableContent:
    """Build one table and save it as CSV below `folder`."""
    entry = TABLES[key]
    table = entry.build(dataset)
    name = f"{TABLES_FOLDER}/{entry.number.lower()}_{key}.csv"
    write_csv(table, folder / name)
    return TableContent(key, table.title, table.headings, table.rows, name, table.note)


def draw(dataset: xr.Dataset, key: str, folder: Path) -> FigureContent:
    """Draw one figure and save it as PNG and SVG in `folder`."""
    entry = FIGURES[key]
    stem = f"{entry.number.lower()}_{key}"
    figure = entry.draw(dataset)
    png = save_figure(figure, folder / f"{stem}.png", dataset)
    # The layout is found once and kept: finding it costs more than drawing.
    figure.set_layout_engine("none")
    svg = save_figure(figure, folder / f"{stem}.svg", dataset)
    return FigureContent(
        key, entry.title, entry.caption(dataset), entry.alt_text(dataset), svg, png
    )


_given: dict[str, xr.Dataset] = {}


def _give(dataset: xr.Dataset) -> None:
    """Keep the forecast for all later drawings of this process."""
    _given["dataset"] = dataset


def _draw_given(key: str, folder: Path) -> FigureContent:
    return draw(_given["dataset"], key, folder)


def _drawn(
    dataset: xr.Dataset, keys: list[str], folder: Path, workers: int | None
) -> Iterator[FigureContent]:
    """Draw figures, in worker processes where there are several cores and figures."""
    wanted = min(workers or os.cpu_count() or 1, len(keys))
    if wanted <= 1:
        yield from (draw(dataset, key, folder) for key in keys)
        return
    pool = ProcessPoolExecutor(
        wanted, multiprocessing.get_context("spawn"), initializer=_give, initargs=(dataset,)
    )
    try:
        futures = [pool.submit(_draw_given, key, folder) for key in keys]
        yield from (future.result() for future in as_completed(futures))
    except BrokenProcessPool as error:
        msg = f"a process that draws figures died ({error}); try again with --workers 1."
        raise StudyError(msg) from error
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
