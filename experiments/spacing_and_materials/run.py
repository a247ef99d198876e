"""Run the study of spacing and materials and write its finding from its results."""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import xarray as xr

from edgesim.figures.studies import STUDY_FIGURES, save_figures
from edgesim.outcomes.exploration import (
    SMALL_SHARE,
    ShareRow,
    conclusions,
    limit_table,
    map_table,
    share_table,
)
from edgesim.outcomes.label_files import read_labelled

HERE = Path(__file__).parent
RESULTS = HERE / "results"
FULL_POINTS = 256
SMALL = (
    "\n**This is a small run**: the bounds below are wide and most shares have not converged. For the full one run "
    "`python experiments/spacing_and_materials/run.py`, which writes this page anew.\n"
)
SQUARE_FEET = 1.0 / 0.3048**2
"""Square feet in a square metre."""

MATERIALS = ("post wood", "wire", "branch diameter")
FIGURES = {
    "study1_ranking": "Who has a part in what",
    "study2_convergence": "Whether the sample was large enough",
    "study3_map": "Spacing and posts, at three levels of traffic",
    "study4_tradeoff": "Money and marsh",
    "study6_separation": "What separates success from failure",
}


def main() -> None:
    """Run, then write; a smaller study is made larger, not run anew."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trajectories", default="10")
    parser.add_argument("--points", default="256")
    parser.add_argument("--workers", default="2")
    parser.add_argument(
        "--only-write", action="store_true", help="Run nothing; write from study.nc."
    )
    given = parser.parse_args()
    if not given.only_write:
        _run(given)
    dataset = read_labelled(RESULTS / "study.nc")
    save_figures(dataset, RESULTS / "figures", STUDY_FIGURES)
    write_finding(dataset, RESULTS / "figures", HERE)


def _run(given: argparse.Namespace) -> None:
    """Run the study, or what is left of it; a failed run (exit code 1) leaves a result."""
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


def write_finding(dataset: xr.Dataset, figures: Path, folder: Path) -> None:
    """Write finding.md and copy its figures beside it."""
    (folder / "figures").mkdir(exist_ok=True)
    parts = [_opening(dataset), _answer(dataset), "## What the indices say\n", _shares(dataset)]
    # What the table and the conclusion above say already is not said twice.
    told = (", screening with", "total shares of the variance are", "separate")
    parts += [
        f"- {said}" for said in conclusions(dataset) if not any(words in said for words in told)
    ]
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
    """The conclusion: spacing against materials, what to decide first, as far as the indices carry it."""
    names = [str(name) for name in dataset["input"].values]
    outcomes = [str(name) for name in dataset["outcome"].values]
    kept = next(o for o, name in enumerate(outcomes) if name.startswith("land_kept"))
    said = ["## Conclusion", _bottom_line(dataset, kept)]
    decided = {
        n for n, flag in zip(names, dataset["input_is_decision"].values, strict=True) if flag
    }
    said.append(
        "**Effects on marsh kept** (how much it moves on average from one end of a range to the other, from the screening, "
        f"with 95 % bounds). Spacing: {_effect(dataset, kept, 'gap')}. Materials: "
        f"{'; '.join(_effect(dataset, kept, name) for name in MATERIALS)}. For scale, the largest of all: "
        f"{_effect(dataset, kept, names[int(np.argmax(dataset['screening_effect'].values[kept]))])}."
    )
    for outcome, words in (
        ("land_kept", "How much marsh is kept"),
        ("cost", "What it costs"),
        ("success", "Whether all targets are met"),
    ):
        rows = [row for row in share_table(dataset) if row.outcome.startswith(outcome)]
        if rows and np.isfinite(rows[0].total):
            said.append(_parts(rows, decided, words))
    said += _on_the_map(dataset)
    limits = limit_table(dataset)
    if limits:
        what = str(dataset["separation_of"].values)
        said.append(
            f"**What goes with {what}**: {'; '.join(f'{row.input} {row.limit}' for row in limits)}. Inside these limits "
            f"{float(dataset['separation_density']):.0%} of the runs are a {what}, against {float(dataset['separation_base']):.0%} "
            f"of all runs; {float(dataset['separation_coverage']):.0%} of every {what} lies inside."
        )
    else:
        said.append("**No input** separates success from failure better than chance would.")
    return "\n\n".join(said) + "\n"


def _effect(dataset: xr.Dataset, outcome: int, name: str) -> str:
    """Mean effect of one input with its bound, marked when it is not known well enough."""
    i = [str(one) for one in dataset["input"].values].index(name)
    effect, bound = (
        float(dataset[which].values[outcome, i])
        for which in ("screening_effect", "screening_bound")
    )
    sure = bool(dataset["screening_converged"].values[outcome, i])
    feet = f"{_two(effect * SQUARE_FEET)} ± {_two(bound * SQUARE_FEET)} ft2"
    return f"{name} {_two(effect)} ± {_two(bound)} m2 ({feet}{'' if sure else '; not converged'})"


def _two(number: float) -> str:
    """Two digits, without exponent."""
    return f"{number:.0f}" if abs(number) >= 10.0 else f"{number:.2g}"


def _parts(rows: list[ShareRow], decided: set[str], words: str) -> str:
    """The decision with the largest part in one outcome, whether it is alone in front, and chance."""

    def said(row: ShareRow) -> str:
        mark = "" if row.total_converged else ", not converged"
        return f"{row.input} ({row.total:.0%} ± {row.total_bound:.0%}{mark})"

    chance = next(row for row in rows if row.input == "chance")
    mine = sorted((row for row in rows if row.input in decided), key=lambda row: -row.total)
    text = f"**{words}.** "
    if not mine:
        text += "No decision is among the leading inputs."
    else:
        level = [row for row in mine[1:] if _overlap(mine[0], row)]
        text += f"Of the decisions, {said(mine[0])} has the largest part in the differences between runs"
        text += f", but cannot be told from {', '.join(map(said, level))}." if level else "."
    mark = "" if chance.total_converged else " (not converged)"
    return f"{text} Chance has a part of {chance.total:.0%} ± {chance.total_bound:.0%}{mark}."


def _overlap(first: ShareRow, other: ShareRow) -> bool:
    """Whether two shares cannot be told apart by their bounds."""
    return first.total - other.total <= float(np.hypot(first.total_bound, other.total_bound))


def _on_the_map(dataset: xr.Dataset) -> list[str]:
    cells = [cell for cell in map_table(dataset) if np.isfinite(cell.chance)]
    if not cells:
        return []

    def means(axis: str) -> str:
        found = {
            level: float(np.mean([c.chance for c in cells if getattr(c, axis) == level]))
            for level in dict.fromkeys(getattr(c, axis) for c in cells)
        }
        return ", ".join(f"{level} {chance:.0%}" for level, chance in found.items())

    chances = [cell.chance for cell in cells]
    fewest = min(cell.members for cell in cells)
    noise = 1.64 * 0.5 * (2 / fewest) ** 0.5
    apart = max(chances) - min(chances) > noise
    return [
        f"**On the map** the chance of success lies between {min(chances):.0%} and {max(chances):.0%}. By {dataset.attrs['map_rows']}: "
        f"{means('row')}; by {dataset.attrs['map_columns']}: {means('column')}. A cell has {fewest} futures, in which two independent "
        f"cells would differ by up to {noise:.0%} by chance alone: "
        + (
            "only differences above that are worth a decision."
            if apart
            else "the map does not say that any cell is better than another."
        )
    ]


def _bottom_line(dataset: xr.Dataset, kept: int) -> str:
    """One sentence that follows from comparing the effects of spacing and of materials."""
    names = [str(name) for name in dataset["input"].values]
    effect, bound = (
        dataset[which].values[kept] for which in ("screening_effect", "screening_bound")
    )

    def apart(one: int, other: int) -> bool:
        return bool(abs(effect[one] - effect[other]) > np.hypot(bound[one], bound[other]))

    decisions = [i for i, flag in enumerate(dataset["input_is_decision"].values) if flag]
    first, *others = sorted(decisions, key=lambda i: -effect[i])
    level = [names[i] for i in others if not apart(first, i)]
    gap = names.index("gap")
    material = max((names.index(name) for name in MATERIALS), key=lambda i: effect[i])
    larger, smaller = (gap, material) if effect[gap] >= effect[material] else (material, gap)
    rival = (
        f"{names[larger]} matters more than {names[smaller]}"
        if apart(larger, smaller)
        else f"{names[larger]} and {names[smaller]} cannot be told apart"
    )
    lead = f"{names[first]} moves marsh kept most"
    if level:
        lead += f", though {_and(level)} may move it as much"
    known = dataset["screening_converged"].values[kept].astype(bool)
    doubtful = [names[i] for i in dict.fromkeys((first, gap, material)) if not known[i]]
    doubt = f" Not converged: the effect of {_and(doubtful)}." if doubtful else ""
    return (
        f"**In short**: among the decisions, {lead}. Between spacing and materials, {rival}. "
        "Both hold for the ranges of this scenario and the size of this study, with what was not decided drawn at random."
        f"{doubt}"
    )


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _shares(dataset: xr.Dataset) -> str:
    rows = share_table(dataset)
    if not rows:
        return ""
    places = {str(name): o for o, name in enumerate(dataset["outcome"].values)}
    about = (
        "Shares of the differences between runs in which each input has a part (a share of the variance, with 95 % bounds; "
        f"shares below {SMALL_SHARE:.0%} are left out). *Not known* means that the bound is too wide to rely on the share.\n"
    )
    lines = [
        about,
        "| outcome | input | alone | with interactions | |",
        "|---|---|---|---|---|",
    ]
    labels = dict(zip(dataset["outcome"].values, dataset["outcome_label"].values, strict=True))
    for row in rows:
        if np.isfinite(row.total) and row.total >= SMALL_SHARE:
            lines.append(  # noqa: PERF401
                f"| {labels[row.outcome]} | {row.input} | {row.first:.2f} ± {row.first_bound:.2f} | "
                f"{row.total:.2f} ± {row.total_bound:.2f} | {'' if row.total_converged else '*not known*'} |"
            )
    verdicts: dict[str, list[str]] = {}
    for name, place in places.items():
        verdicts.setdefault(str(dataset["ranking"].values[place]), []).append(labels[name].lower())
    ranking = "; ".join(f"{verdict}: {', '.join(found)}" for verdict, found in verdicts.items())
    lines.append(f"\nRanking of the inputs against the one at half the sample: {ranking}.\n")
    return "\n".join(lines)


def _limits() -> str:
    return (
        "\n## Limits\n\nRanges decide indices: an input with a narrow range looks idle. Inputs that the screening left out stand in the middle of "
        "their range in the second stage. Chance holds the weather and every uncertain input that the study does not list. "
        "Costs rest on invented prices. Beyond about five years there is little evidence from monitored sites.\n"
    )


if __name__ == "__main__":
    main()
