"""Run the study of spacing and materials and write its finding from its results."""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import xarray as xr

from edgesim.outcomes.exploration import conclusions, limit_table, map_table, share_table
from edgesim.outcomes.label_files import read_labelled

HERE = Path(__file__).parent
RESULTS = HERE / "results"
FULL_POINTS = 256
SMALL = (
    "\n**This is a small run**: the bounds below are wide and most shares have not converged. For the full one run "
    "`python experiments/spacing_and_materials/run.py`, which writes this page anew.\n"
)
FIGURES = {
    "study1_ranking": "Who has a part in what",
    "study2_convergence": "Whether the sample was large enough",
    "study3_map": "Spacing and posts, at three levels of traffic",
    "study4_tradeoff": "Money and marsh",
    "study5_regret": "Regret over the levels of traffic",
    "study6_separation": "What separates success from failure",
}


def main() -> None:
    """Run, then write; a smaller study is made larger, not run anew."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trajectories", default="10")
    parser.add_argument("--points", default="256")
    parser.add_argument("--workers", default="2")
    given = parser.parse_args()
    done = subprocess.run(
        [
            sys.executable, "-m", "edgesim", "explore", str(HERE / "scenario.toml"),
            "--output", str(RESULTS), "--resume", "--leading", "6",
            "--trajectories", given.trajectories, "--points", given.points, "--workers", given.workers,
        ],
        check=False,
    )  # fmt: skip
    if done.returncode not in (0, 1):
        sys.exit(done.returncode)
    write_finding(read_labelled(RESULTS / "study.nc"), RESULTS / "figures", HERE)


def write_finding(dataset: xr.Dataset, figures: Path, folder: Path) -> None:
    """Write finding.md and copy its figures beside it."""
    (folder / "figures").mkdir(exist_ok=True)
    parts = [_opening(dataset), _answer(dataset), "## What the indices say\n"]
    said = conclusions(dataset)
    if "total" in dataset:  # the shares say it better than the screening
        said = [sentence for sentence in said if ", screening with" not in sentence]
    parts += [f"- {sentence}" for sentence in said]
    parts.append(_shares(dataset))
    parts.append("\n## Figures\n")
    for stem, words in FIGURES.items():
        source = figures / f"{stem}.png"
        if source.exists():
            shutil.copy(source, folder / "figures" / source.name)
            parts.append(f"![{words}](figures/{source.name})\n")
    grid = folder / "grid_error.md"
    parts.append("## What the coarser grid changes\n")
    parts.append(
        grid.read_text(encoding="utf-8") if grid.exists() else "Not measured: run grid_error.py.\n"
    )
    parts.append(_limits())
    text = "\n".join(parts).rstrip() + "\n"
    (folder / "finding.md").write_text(text, encoding="utf-8")


def _opening(dataset: xr.Dataset) -> str:
    trajectories = int(dataset["screening_trajectories"])
    points = int(dataset["size"].values[-1]) if "size" in dataset else 0
    runs = dataset.sizes.get("screening_run", 0) + dataset.sizes.get("shares_run", 0)
    runs += int(dataset["map_members"].values.sum()) if "map_members" in dataset else 0
    return (
        "# Spacing and materials: finding\n\n"
        "*Written by run.py from the results of the study. All inputs but the tide are invented: what follows is about the "
        "method and an invented reach, not about any shore.*\n\n"
        f"{runs} model runs: {trajectories} trajectories through {dataset.sizes['input'] - 1} inputs and chance, {points} base "
        f"points for the leading {dataset.sizes.get('leading', 1) - 1}, and the map. Seed {dataset.attrs['seed']}, "
        f"{dataset.attrs['source']}. Success means: {_targets()}.\n"
        + ("" if points >= FULL_POINTS else SMALL)
    )


def _targets() -> str:
    from edgesim.outcomes.comparison import target_words
    from edgesim.scenario import load_scenario
    from edgesim.scenario.plans import targets_of

    return "; ".join(target_words(t) for t in targets_of(load_scenario(HERE / "scenario.toml")))


def _answer(dataset: xr.Dataset) -> str:
    """The conclusion: spacing, materials, and what to decide first, as far as the indices carry it."""
    said = ["## Conclusion"]
    names = [str(name) for name in dataset["input"].values]
    effect, bound = dataset["screening_effect"].values, dataset["screening_bound"].values
    outcomes = [str(name) for name in dataset["outcome"].values]
    kept = next(o for o, name in enumerate(outcomes) if name.startswith("land_kept"))
    largest = effect[kept].max()
    for topic, inputs in (
        ("Spacing", ("gap",)),
        ("Materials", ("post wood", "wire", "branch diameter")),
    ):
        parts = []
        for name in inputs:
            i = names.index(name)
            share, low = effect[kept, i] / largest, (effect[kept, i] + bound[kept, i]) / largest
            parts.append(f"{name} {share:.0%} (at most {low:.0%})")
        said.append(
            f"**{topic}.** On marsh kept, the mean effect over the whole range, as a share of the largest effect "
            f"({names[int(np.argmax(effect[kept]))]}): {', '.join(parts)}."
        )
    rows = share_table(dataset)
    decided = {
        n for n, flag in zip(names, dataset["input_is_decision"].values, strict=True) if flag
    }
    for outcome, words in (
        ("land_kept", "marsh is kept"),
        ("cost", "it costs"),
        ("success", "whether all targets are met"),
    ):
        of = [row for row in rows if row.outcome.startswith(outcome)]
        if not of or not np.isfinite(of[0].total):
            continue
        mine = [row for row in of if row.input in decided]
        best, chance = (
            max(mine, key=lambda row: row.total),
            next(r for r in of if r.input == "chance"),
        )
        sure = "" if best.total_converged else ", not converged"
        lead = "How much " if outcome == "land_kept" else "What " if outcome == "cost" else "As to "
        said.append(
            f"**{lead}{words}**: the decision with the largest part is {best.input} ({best.total:.0%} ± {best.total_bound:.0%}{sure}); "
            f"chance has a part in {chance.total:.0%} ± {chance.total_bound:.0%}{'' if chance.total_converged else ' (not converged)'}."
        )
    cells = map_table(dataset)
    if cells:
        chances = [cell.chance for cell in cells]
        by_row = {
            level: float(np.mean([c.chance for c in cells if c.row == level]))
            for level in dict.fromkeys(c.row for c in cells)
        }
        by_column = {
            level: float(np.mean([c.chance for c in cells if c.column == level]))
            for level in dict.fromkeys(c.column for c in cells)
        }
        said.append(
            f"**On the map** the chance of success lies between {min(chances):.0%} and {max(chances):.0%}. By {dataset.attrs['map_rows']}: "
            f"{', '.join(f'{k} {v:.0%}' for k, v in by_row.items())}; by {dataset.attrs['map_columns']}: {', '.join(f'{k} {v:.0%}' for k, v in by_column.items())}. "
            f"With {cells[0].members} futures a cell, differences below about {1.64 * 0.5 * (2 / cells[0].members) ** 0.5:.0%} between single cells are noise "
            "(less in the same futures)."
        )
    limits = limit_table(dataset)
    if limits:
        said.append(
            f"**To be safe**, look at {', '.join(row.input for row in limits)} first: they separate success from failure."
        )
    said.append(_bottom_line(dataset, kept))
    return "\n\n".join(said) + "\n"


def _bottom_line(dataset: xr.Dataset, kept: int) -> str:
    """One sentence that follows from comparing the effects of spacing and of materials."""
    names = [str(name) for name in dataset["input"].values]
    effect, bound = (
        dataset["screening_effect"].values[kept],
        dataset["screening_bound"].values[kept],
    )
    decisions = [i for i, flag in enumerate(dataset["input_is_decision"].values) if flag]
    first = max(decisions, key=lambda i: effect[i])
    gap = names.index("gap")
    materials = max(
        (names.index(n) for n in ("post wood", "wire", "branch diameter")), key=lambda i: effect[i]
    )
    apart = abs(effect[gap] - effect[materials]) > bound[gap] + bound[materials]
    larger, smaller = (gap, materials) if effect[gap] >= effect[materials] else (materials, gap)
    text = (
        f"{names[larger]} matters more than {names[smaller]}"
        if apart
        else f"{names[larger]} and {names[smaller]} cannot be told apart"
    )
    return (
        f"**In one sentence**: among the decisions, {names[first]} moves marsh kept most; between spacing and materials, {text} "
        f"at this size of the study, over the ranges of the scenario."
    )


def _shares(dataset: xr.Dataset) -> str:
    rows = share_table(dataset)
    if not rows:
        return ""
    lines = [
        "\n| outcome | input | alone | with interactions | converged |",
        "|---|---|---|---|---|",
    ]
    labels = dict(zip(dataset["outcome"].values, dataset["outcome_label"].values, strict=True))
    for row in rows:
        if np.isfinite(row.total) and row.total >= 0.02:
            lines.append(  # noqa: PERF401
                f"| {labels[row.outcome]} | {row.input} | {row.first:.2f} ± {row.first_bound:.2f} | "
                f"{row.total:.2f} ± {row.total_bound:.2f} | {'yes' if row.total_converged else 'no'} |"
            )
    return "\n".join(lines)


def _limits() -> str:
    return (
        "\n## Limits\n\nRanges decide indices: an input with a narrow range looks idle. Inputs that the screening left out stand in the middle of "
        "their range in the second stage. Chance holds the weather and every uncertain input that the study does not list. "
        "Costs rest on invented prices. Beyond about five years there is little evidence from monitored sites.\n"
    )


if __name__ == "__main__":
    main()
