"""Other programs take what we write: an office suite, and a validator of HTML."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

OFFICE = shutil.which("soffice")
READER, NODE = shutil.which("pdftotext"), shutil.which("node")
VALIDATOR = (
    Path(os.environ.get("EDGESIM_NODE_MODULES", "node_modules"))
    / "html-validate/bin/html-validate.mjs"
)

pytestmark = pytest.mark.slow


@pytest.mark.skipif("EDGESIM_TOOLS_REQUIRED" not in os.environ, reason="asked for by .ci/run only")
def test_where_the_tools_are_required_they_are_there():
    assert OFFICE
    assert READER
    assert NODE
    assert VALIDATOR.exists()


@pytest.fixture(scope="module")
def paper(whole_plan: Any, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Pages of text of the Word document as the office suite prints it."""
    if OFFICE is None or READER is None:
        pytest.skip("needs LibreOffice Writer and poppler-utils (Debian packages)")
    folder = tmp_path_factory.mktemp("paper")
    done = subprocess.run(
        [OFFICE, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless",
         "--convert-to", "pdf", "--outdir", folder, whole_plan.folder / "plan.docx"],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Error" not in done.stdout + done.stderr
    printed = subprocess.run(
        [READER, "-layout", folder / "plan.pdf", "-"], capture_output=True, text=True, check=True
    )
    return printed.stdout.split("\f")


def test_the_office_suite_prints_the_word_document_with_cautions_first(paper: list[str]):
    assert len(paper) > 15
    first = " ".join(paper[0].split())
    assert "Read this first: cautions" in first
    assert "have structures designed by a licensed engineer" in first
    assert "Nothing here says that a structure is permitted." in first


def test_captions_and_references_have_numbers_on_paper(paper: list[str]):
    text = "\n".join(paper)
    assert "Error: Reference source not found" not in text
    figures = [int(n) for n in re.findall(r"^ *Figure (\d+)\. ", text, re.MULTILINE)]
    assert set(figures) == set(range(1, max(figures) + 1))


@pytest.mark.skipif(
    NODE is None or not VALIDATOR.exists(), reason=f"needs html-validate from npm at {VALIDATOR}"
)
def test_the_validator_accepts_both_pages(whole_plan: Any, tmp_path: Path):
    rules = tmp_path / "rules.json"
    rules.write_text(json.dumps({"root": True, "extends": ["html-validate:standard"]}))
    pages = [whole_plan.folder / "plan.html", whole_plan.folder / "view.html"]
    done = subprocess.run(
        [str(NODE), VALIDATOR, "--config", rules, *pages],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout
    broken = tmp_path / "broken.html"
    broken.write_text(pages[0].read_text(encoding="utf-8").replace("</nav>", "", 1))
    assert subprocess.run(
        [str(NODE), VALIDATOR, "--config", rules, broken], capture_output=True, check=False
    ).returncode
