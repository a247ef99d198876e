"""Plans that several files look at: one with two figures, made quickly, and one with all of them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import html5lib
import pytest
import xarray as xr

from edgesim.outcomes.needs import variables

FEW = ("edge_fan", "mud")
NEVER = variables("never", reason="nobody measured it", remedy="measure it")


@dataclass(frozen=True, eq=False)
class Written:
    """A folder that holds a plan, and its page as a tree."""

    folder: Path

    @property
    def html(self) -> str:
        return (self.folder / "plan.html").read_text(encoding="utf-8")

    @cache  # noqa: B019 - a folder of the tests lives as long as they do
    def tree(self) -> Any:
        """Parse strictly: an error of the page is an error of the test."""
        return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(self.html)


@contextmanager
def few_figures() -> Iterator[None]:
    """Leave two figures, and one that lacks its data, in the registry: drawing is slow."""
    from edgesim.report import exhibits

    few = {key: entry for key, entry in exhibits.FIGURES.items() if key in FEW}
    few["lacking"] = few["edge_fan"]._replace(
        number="F13", title="A figure without its data", needs=(NEVER,)
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(exhibits, "FIGURES", few)
        yield


@pytest.fixture(scope="session")
def plan(whole_dataset: xr.Dataset, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """A plan with two figures."""
    from edgesim.report.plan import write_plan

    folder = tmp_path_factory.mktemp("plan")
    with few_figures():
        write_plan(whole_dataset, folder, workers=1)
    return Written(folder)


@pytest.fixture(scope="session")
def whole_plan(whole_dataset: xr.Dataset, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """A plan with every figure that the invented ensemble can fill."""
    from edgesim.report.plan import write_plan

    folder = tmp_path_factory.mktemp("whole_plan")
    write_plan(whole_dataset, folder, workers=1)
    return Written(folder)
